import type { SessionAnswer } from "../../api/types";
import { DecidedText } from "../../parts/DecidedText";
import { decidedOn, keyAt, writtenOf } from "../../state/decided";
import { t } from "../../text/text";
import type { Seen } from "./seen";

/** Possible central signs, before everything else; one that the signer left out stays here with the reason. */
export function Urgent({ document, answer }: Pick<Seen, "document"> & { readonly answer: SessionAnswer }) {
  const all = document.statements.map((statement, index) => ({ statement, key: keyAt(answer, index) }));
  const urgent = all.filter(({ statement }) => statement.urgent);
  if (!urgent.length) return null;
  const written = writtenOf(answer);
  return (
    <section class="urgent-first" aria-label={t("urgent.label")}>
      <p class="urgent-word">{t("statement.urgent")}</p>
      <ul>
        {urgent.map(({ statement, key }) => (
          <li key={key}><b>{statement.title}: {statement.shown}.</b> <DecidedText statement={statement} decided={decidedOn(answer.draft, written, key)} /></li>
        ))}
      </ul>
    </section>
  );
}
