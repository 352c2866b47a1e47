import type { SessionAnswer } from "../../api/types";
import { StatementCard } from "../../parts/StatementCard";
import { decidedOn, keyAt, writtenOf } from "../../state/decided";
import { inOrder } from "../../state/statement_order";
import { t } from "../../text/text";
import type { Seen } from "./seen";

/** What the session says with the signer's decisions: urgent first, then what holds; what does not hold is folded away unless it was decided on. */
export function Statements({ session, document, answer }: Seen & { readonly answer: SessionAnswer }) {
  const written = writtenOf(answer);
  const all = inOrder(document.statements.map((statement, index) => ({ statement, key: keyAt(answer, index), decided: decidedOn(answer.draft, written, keyAt(answer, index)) })));
  const first = all.filter(({ statement, decided }) => statement.urgent || statement.verdict !== "does_not_hold" || decided.kind !== "accepted");
  const rest = all.filter((one) => !first.includes(one));
  const card = ({ statement, key, decided }: (typeof all)[number]) => (
    <StatementCard key={key} session={session} document={document} statement={statement} decided={decided} />
  );
  return (
    <section class="sheet" aria-labelledby="statements">
      <h2 id="statements">{t("statements.title")}</h2>
      {first.map(card)}
      {!all.length && <p>{t("statements.none")}</p>}
      {rest.length > 0 && (
        <details class="more">
          <summary>{t("statements.rest", { count: rest.length })}</summary>
          {rest.map(card)}
        </details>
      )}
    </section>
  );
}
