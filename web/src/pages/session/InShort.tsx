import { useState } from "preact/hooks";
import { announce } from "../../app/announce";
import type { SessionAnswer } from "../../api/types";
import { t } from "../../text/text";
import { patientShort, referrerShort } from "./in_short";

/** The summary for the referrer, ready to be copied (as a draft until it is signed), and the paragraph for the patient. */
export function InShort({ answer }: { readonly answer: SessionAnswer }) {
  const [referrer, patient] = [referrerShort(answer), patientShort(answer)];
  return (
    <section class="sheet in-short" aria-labelledby="in-short">
      <div class="sheet-head">
        <h2 id="in-short">{t("short.title")}</h2>
        <Copy text={referrer.copied} label={t("short.copy")} />
      </div>
      <p class="prose lead">{referrer.text}</p>
      {referrer.own && <p class="hint">{t("short.own")}</p>}
      {referrer.touched > 0 && <p class="caution-line">{t("short.as_written", { count: referrer.touched })}</p>}
      <details>
        <summary>{t("short.patient")}</summary>
        <p class="prose">{patient.text}</p>
        {patient.touched > 0 && <p class="caution-line">{t("short.patient_as_written", { count: patient.touched })}</p>}
        <Copy text={patient.copied} label={t("short.copy_patient")} />
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
