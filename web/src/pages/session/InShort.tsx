import { useState } from "preact/hooks";
import { announce } from "../../app/announce";
import type { SessionAnswer } from "../../api/types";
import { t } from "../../text/text";
import type { Seen } from "./seen";

/** The summary for the referrer, ready to be copied (as a draft until it is signed), and the paragraph for the patient. */
export function InShort({ document, answer }: Pick<Seen, "document"> & { readonly answer: SessionAnswer }) {
  const { referrer: written, patient } = document.summary;
  const own = answer.draft.reworded["summary"];
  const referrer = own ?? written;
  const marked = (text: string): string => (answer.signed_as_shown === null ? `${text}\n(${t("state.draft")})` : text);
  return (
    <section class="sheet in-short" aria-labelledby="in-short">
      <div class="sheet-head">
        <h2 id="in-short">{t("short.title")}</h2>
        <Copy text={marked(referrer)} label={t("short.copy")} />
      </div>
      <p class="prose lead">{referrer}</p>
      {own !== undefined && <p class="hint">{t("short.own")}</p>}
      <details>
        <summary>{t("short.patient")}</summary>
        <p class="prose">{patient}</p>
        <Copy text={marked(patient)} label={t("short.copy_patient")} />
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
