import { useState } from "preact/hooks";
import { reportPdf } from "../../api/calls";
import { moment } from "../../format/date";
import { saveFile } from "../../parts/save_file";
import { Trouble } from "../../parts/Trouble";
import type { Ready } from "../../state/use_session";
import { t } from "../../text/text";
import type { PreviewState } from "./Preview";

/** Every signed version: open it, take it as PDF, see what changed since the one before. */
export function Versions({ ready, preview }: { readonly ready: Ready; readonly preview: PreviewState }) {
  const [error, setError] = useState<unknown>(null);
  const { versions, session, patient_code } = ready.answer;
  const pdf = (number: number, paper: "a4" | "letter"): void => {
    reportPdf(session.id, paper, number).then((file) => saveFile(file, `${patient_code}-${session.date ?? session.id}-v${number}.pdf`), setError);
  };
  return (
    <section class="sheet" aria-labelledby="versions">
      <h2 id="versions">{t("versions.title")}</h2>
      {!versions.length && <p class="nothing">{t("versions.none")}</p>}
      <ol class="versions" reversed>
        {[...versions].reverse().map((version) => (
          <li key={version.number}>
            <p><b>{t("versions.version", { number: version.number })}</b> {t("edits.by", { by: version.by, at: moment(version.at) })}</p>
            <p class="code" title={version.reading_digest}>{t("versions.digest", { digest: version.reading_digest.slice(0, 16) })}</p>
            {version.differs.length > 0 && <p class="small">{t("versions.differs", { what: version.differs.join("; ") })}</p>}
            <p class="actions">
              <button type="button" aria-pressed={preview.version === version.number} onClick={() => preview.show(version.number)} aria-label={t("versions.open_this", { number: version.number })}>{t("versions.open")}</button>
              <button type="button" onClick={() => pdf(version.number, "a4")} aria-label={t("versions.pdf_this", { number: version.number, paper: t("paper.a4") })}>{t("versions.pdf", { paper: t("paper.a4") })}</button>
              <button type="button" onClick={() => pdf(version.number, "letter")} aria-label={t("versions.pdf_this", { number: version.number, paper: t("paper.letter") })}>{t("versions.pdf", { paper: t("paper.letter") })}</button>
            </p>
          </li>
        ))}
      </ol>
      <Trouble error={error} />
    </section>
  );
}
