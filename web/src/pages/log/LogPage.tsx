import { useState } from "preact/hooks";
import { PageHead } from "../../parts/PageHead";
import { t } from "../../text/text";
import { LogList } from "./LogList";

/** Who did what and when; merges and moves can be reversed. */
export function LogPage() {
  const [turn, setTurn] = useState(0);
  return (
    <>
      <PageHead title={t("log.title")} />
      <p class="hint">{t("log.hint")}</p>
      <section class="sheet" aria-label={t("log.title")}>
        <LogList key={turn} about={{}} changed={() => setTurn((count) => count + 1)} />
      </section>
    </>
  );
}
