import { t } from "../../text/text";
import type { Seen } from "./seen";

/** Possible central signs, before everything else. */
export function Urgent({ document }: Pick<Seen, "document">) {
  const urgent = document.statements.filter((statement) => statement.urgent);
  if (!urgent.length) return null;
  return (
    <section class="urgent-first" aria-label={t("urgent.label")}>
      <p class="urgent-word">{t("statement.urgent")}</p>
      <ul>{urgent.map((one) => <li key={one.code + one.text}><b>{one.title}: {one.shown}.</b> <span class="prose">{one.text}</span></li>)}</ul>
    </section>
  );
}
