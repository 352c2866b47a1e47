import type { DraftWish } from "../../api/calls";
import type { Document } from "../../api/types";
import { Field } from "../../parts/Field";
import { SUMMARY } from "../../state/decided";
import { accept, reword } from "../../state/draft";
import { t } from "../../text/text";

interface RemarkProps {
  readonly draft: DraftWish;
  readonly document: Document;
  readonly change: (change: (draft: DraftWish) => DraftWish) => void;
}

/** The summary in the signer's words, and the signer's own remark. */
export function Remark({ draft, document, change }: RemarkProps) {
  const own = draft.reworded[SUMMARY];
  return (
    <section class="sheet" aria-labelledby="summary">
      <h2 id="summary">{t("summary.title")}</h2>
      {own === undefined ? (
        <>
          <p class="prose">{document.summary.referrer}</p>
          <button type="button" onClick={() => change((now) => reword(now, SUMMARY, document.summary.referrer))}>{t("summary.reword")}</button>
        </>
      ) : (
        <>
          <Field label={t("summary.own")}>
            {(ids) => <textarea {...ids} rows={6} value={own} onInput={(event) => { const text = event.currentTarget.value; change((now) => reword(now, SUMMARY, text)); }} />}
          </Field>
          <details><summary>{t("decision.original")}</summary><p class="prose">{document.summary.referrer}</p></details>
          <button type="button" onClick={() => change((now) => accept(now, SUMMARY))}>{t("summary.as_written")}</button>
        </>
      )}
      <Field label={t("remark.title")} hint={t("remark.hint")}>
        {(ids) => <textarea {...ids} rows={3} value={draft.remark} onInput={(event) => { const remark = event.currentTarget.value; change((now) => ({ ...now, remark })); }} />}
      </Field>
    </section>
  );
}
