import type { Agreement } from "../../api/types";
import { EvidenceTable } from "../../parts/EvidenceTable";
import { NotShown } from "../../parts/StatementCard";
import { reason } from "../../state/about";
import { withSpread } from "../../format/spread";
import { t } from "../../text/text";
import type { Seen } from "./seen";

const VERDICTS = {
  agree: "agreement.agree", disagree: "agreement.disagree", cannot_tell: "agreement.cannot_tell", not_tested: "agreement.not_tested",
} as const;

/** Whether the tests agree: what must be heeded is open, the rest folded. */
export function Agreements({ session, document }: Seen) {
  const asked = document.agreements.filter((one) => one.verdict !== "not_tested");
  const untested = document.agreements.filter((one) => one.verdict === "not_tested");
  const loud = asked.filter((one) => one.heed || one.verdict === "disagree");
  const calm = asked.filter((one) => !loud.includes(one));
  return (
    <section class="sheet" aria-labelledby="agreement">
      <h2 id="agreement">{t("agreement.title")}</h2>
      {document.incoherences.map((found) => (
        <p key={found.code} class="caution-line">
          {reason(found.code).text} {t("agreement.found", { value: withSpread(found), limit: withSpread({ ...found, value: found.limit, low: null, high: null }), trials: found.trials.join(", ") })}
        </p>
      ))}
      {loud.map((one) => <One key={one.code} session={session} document={document} agreement={one} open />)}
      {calm.map((one) => <One key={one.code} session={session} document={document} agreement={one} open={false} />)}
      {untested.length > 0 && (
        <details>
          <summary>{t("agreement.untested", { count: untested.length })}</summary>
          <ul class="small">{untested.map((one) => <li key={one.code}><b>{one.title}.</b> {one.text}</li>)}</ul>
        </details>
      )}
    </section>
  );
}

function One({ session, document, agreement, open }: Seen & { readonly agreement: Agreement; readonly open: boolean }) {
  return (
    <details class={`agreement ${agreement.verdict}`} open={open}>
      <summary><span class="verdict">{t(VERDICTS[agreement.verdict])}</span> {agreement.title}</summary>
      <p class="prose">{agreement.text}</p>
      <EvidenceTable session={session} document={document} evidence={agreement.evidence} />
      <NotShown lines={agreement.does_not_show} />
      <p class="source">{agreement.sources.join("; ")}</p>
    </details>
  );
}
