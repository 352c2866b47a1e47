import { StatementCard } from "../../parts/StatementCard";
import { inOrder } from "../../state/statement_order";
import { t } from "../../text/text";
import type { Seen } from "./seen";

/** What the session says: urgent first, then what holds; what does not hold is folded away, not left out. */
export function Statements({ session, document }: Seen) {
  const all = inOrder(document.statements.map((statement) => ({ statement })));
  const first = all.filter(({ statement }) => statement.urgent || statement.verdict !== "does_not_hold");
  const rest = all.filter((one) => !first.includes(one));
  const card = ({ statement }: (typeof all)[number]) => (
    <StatementCard key={statement.code + statement.text} session={session} document={document} statement={statement} />
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
