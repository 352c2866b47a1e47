import type { DraftWish } from "../../api/calls";
import { StatementCard } from "../../parts/StatementCard";
import { keyAt, touchedCount, writtenOf } from "../../state/decided";
import { accept } from "../../state/draft";
import { inOrder } from "../../state/statement_order";
import type { Ready } from "../../state/use_session";
import { t } from "../../text/text";
import { Decision } from "./Decision";

interface DecisionsProps {
  readonly ready: Ready;
  readonly draft: DraftWish;
  readonly change: (change: (draft: DraftWish) => DraftWish) => void;
}

/** Each statement with the signer's decision on it; what is not touched is accepted. */
export function Decisions({ ready, draft, change }: DecisionsProps) {
  const { document, answer } = ready;
  const all = inOrder(document.statements.map((statement, index) => ({ statement, key: keyAt(answer, index) })));
  const touched = touchedCount(draft, writtenOf(answer));
  return (
    <section class="sheet" aria-labelledby="decisions">
      <h2 id="decisions">{t("decisions.title")}</h2>
      <p class="hint">{t("decisions.counted", { count: all.length, touched })}</p>
      <Gone keys={goneKeys(draft, answer.statement_keys)} change={change} />
      {all.map(({ statement, key }) => (
        <StatementCard key={key} session={answer.session.id} document={document} statement={statement}>
          <Decision statement={statement} name={key} draft={draft} change={change} />
        </StatementCard>
      ))}
    </section>
  );
}

function goneKeys(draft: DraftWish, keys: readonly string[]): string[] {
  const decided = [...Object.keys(draft.reworded), ...Object.keys(draft.dropped)];
  return decided.filter((key) => key !== "summary" && !keys.includes(key));
}

/** Decisions on statements that an edit took away: they stop the draft from being saved until they go. */
function Gone({ keys, change }: { readonly keys: readonly string[]; readonly change: DecisionsProps["change"] }) {
  if (!keys.length) return null;
  return (
    <div class="trouble" role="alert">
      <p>{t("decisions.gone", { count: keys.length })}</p>
      <ul>
        {keys.map((key) => (
          <li key={key}>{key} <button type="button" onClick={() => change((now) => accept(now, key))}>{t("decisions.forget")}</button></li>
        ))}
      </ul>
    </div>
  );
}
