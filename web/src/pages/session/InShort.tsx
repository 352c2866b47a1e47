import { useState } from "preact/hooks";
import { announce } from "../../app/announce";
import { t } from "../../text/text";
import type { Seen } from "./seen";

/** The summary for the referrer, ready to be copied, and the paragraph for the patient. */
export function InShort({ document }: Seen) {
  const { referrer, patient } = document.summary;
  return (
    <section class="sheet in-short" aria-labelledby="in-short">
      <div class="sheet-head">
        <h2 id="in-short">{t("short.title")}</h2>
        <Copy text={referrer} label={t("short.copy")} />
      </div>
      <p class="prose lead">{referrer}</p>
      <details>
        <summary>{t("short.patient")}</summary>
        <p class="prose">{patient}</p>
        <Copy text={patient} label={t("short.copy_patient")} />
      </details>
    </section>
  );
}

function Copy({ text, label }: { readonly text: string; readonly label: string }) {
  const [done, setDone] = useState(false);
  const copy = async (): Promise<void> => {
    await navigator.clipboard.writeText(text);
    setDone(true);
    announce(t("short.copied"));
  };
  return (
    <button type="button" class="quiet" onClick={() => void copy()}>
      {label}{done && <span class="small"> {t("short.done")}</span>}
    </button>
  );
}
