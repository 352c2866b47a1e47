import type { Criterion } from "../../api/types";
import { chance } from "../../format/words";
import { EvidenceTable } from "../../parts/EvidenceTable";
import { word } from "../../state/about";
import { t } from "../../text/text";
import type { Seen } from "./seen";

/** Consensus criteria: what of them was measured, and whether it is met. */
export function Criteria({ session, document }: Seen) {
  if (!document.criteria.length) return null;
  return (
    <section class="sheet" aria-labelledby="criteria">
      <h2 id="criteria">{t("criteria.title")}</h2>
      <p class="hint">{t("criteria.hint")}</p>
      {document.criteria.map((criterion) => <One key={criterion.code} session={session} document={document} criterion={criterion} />)}
    </section>
  );
}

function One({ session, document, criterion }: Seen & { readonly criterion: Criterion }) {
  return (
    <details class={`criterion ${criterion.verdict}`}>
      <summary><span class="verdict">{word("met", criterion.verdict)}</span> {criterion.title}</summary>
      {criterion.remark && <p class="small">{criterion.remark}</p>}
      <ul class="items">
        {criterion.items.map((item) => (
          <li key={item.code}>
            <b>{word("met", item.verdict)}</b>: {item.title}
            {item.chance !== null && <span class="strength"> {t("patterns.chance", { chance: chance(item.chance) })}</span>}
            {item.remark && <span class="under">{item.remark}</span>}
            <EvidenceTable session={session} document={document} evidence={item.evidence} />
          </li>
        ))}
      </ul>
      <p class="small"><b>{t("criteria.history")}</b> {criterion.history}</p>
      {criterion.trap && <p class="small"><b>{t("criteria.trap")}</b> {criterion.trap}</p>}
      <p class="source">{criterion.source}</p>
    </details>
  );
}
