import { useState } from "preact/hooks";
import type { Agreement, FigureEntry } from "../../api/types";
import { EvidenceTable } from "../../parts/EvidenceTable";
import { Figure } from "../../parts/Figure";
import { NotShown } from "../../parts/StatementCard";
import { reason } from "../../state/about";
import { withSpread } from "../../format/spread";
import { t } from "../../text/text";
import type { Seen } from "./seen";

const VERDICTS = {
  agree: "agreement.agree", disagree: "agreement.disagree", cannot_tell: "agreement.cannot_tell", not_tested: "agreement.not_tested",
} as const;

/** Whether the tests agree: what must be heeded is open, the rest folded. */
export function Agreements({ session, document, figures }: Seen & { readonly figures: readonly FigureEntry[] }) {
  const one = (agreement: Agreement, open: boolean) => (
    <One key={agreement.code} session={session} document={document} agreement={agreement} open={open}
      figure={figures.find((figure) => figure.name === `agreement-${agreement.code}`)} />
  );
  const asked = document.agreements.filter((found) => found.verdict !== "not_tested");
  const untested = document.agreements.filter((found) => found.verdict === "not_tested");
  const loud = asked.filter((found) => found.heed || found.verdict === "disagree");
  const calm = asked.filter((found) => !loud.includes(found));
  return (
    <section class="sheet" aria-labelledby="agreement">
      <h2 id="agreement">{t("agreement.title")}</h2>
      {document.incoherences.map((found) => (
        <p key={found.code} class="caution-line">
          {reason(found.code).text} {t("agreement.found", { value: withSpread(found), limit: withSpread({ ...found, value: found.limit, low: null, high: null }), trials: found.trials.join(", ") })}
        </p>
      ))}
      {loud.map((found) => one(found, true))}
      {calm.map((found) => one(found, false))}
      {untested.length > 0 && (
        <details>
          <summary>{t("agreement.untested", { count: untested.length })}</summary>
          <ul class="small">{untested.map((found) => <li key={found.code}><b>{found.title}.</b> {found.text}</li>)}</ul>
        </details>
      )}
    </section>
  );
}

interface OneProps extends Seen {
  readonly agreement: Agreement;
  readonly open: boolean;
  readonly figure: FigureEntry | undefined;
}

function One({ session, document, agreement, open, figure }: OneProps) {
  const [unfolded, setUnfolded] = useState(open);
  return (
    <details class={`agreement ${agreement.verdict}`} open={unfolded} onToggle={(event) => setUnfolded(event.currentTarget.open)}>
      <summary><span class="verdict">{t(VERDICTS[agreement.verdict])}</span> {agreement.title}</summary>
      <p class="prose">{agreement.text}</p>
      {figure && unfolded && <Figure session={session} entry={figure} state={`${document.software.edits_digest}`} />}
      <EvidenceTable session={session} document={document} evidence={agreement.evidence} />
      <NotShown lines={agreement.does_not_show} />
      <p class="source">{agreement.sources.join("; ")}</p>
    </details>
  );
}
