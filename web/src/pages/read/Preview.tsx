import { useEffect, useRef, useState } from "preact/hooks";
import { reportPage, reportPdf } from "../../api/calls";
import type { SessionAnswer } from "../../api/types";
import { saveFile } from "../../parts/save_file";
import { Trouble } from "../../parts/Trouble";
import { t } from "../../text/text";
import { fillFrame } from "./report_frame";

export interface PreviewState {
  readonly page: string | null;
  /** The digest of the reading that is shown; a signature names it. */
  readonly digest: string;
  /** The signed version that is shown, or null for the draft. */
  readonly version: number | null;
  readonly error: unknown;
  readonly show: (version: number | null) => void;
}

const PAUSE_MS = 900;

/** The report as it would be signed; made again a moment after the draft was saved. */
export function usePreview(session: string, digest: string | null): PreviewState {
  const [version, show] = useState<number | null>(null);
  const [made, setMade] = useState<{ page: string | null; digest: string; of: number | null; error: unknown }>({ page: null, digest: "", of: null, error: null });
  useEffect(() => {
    if (digest === null) return;
    let closed = false;
    const timer = setTimeout(() => {
      reportPage(session, version ?? undefined).then(
        (answer) => {
          if (!closed) setMade({ ...answer, of: version, error: null });
        },
        (error: unknown) => {
          if (!closed) setMade({ page: null, digest: "", of: version, error });
        },
      );
    }, made.page === null || version !== made.of ? 0 : PAUSE_MS);
    return () => {
      closed = true;
      clearTimeout(timer);
    };
  }, [session, digest, version]);
  return { page: made.page, digest: made.of === null ? made.digest : "", version: made.of, error: made.error, show };
}

/** The page in a frame without any power: no script, no form, no way out. */
export function Preview({ answer, preview }: { readonly answer: SessionAnswer; readonly preview: PreviewState }) {
  const frame = useRef<HTMLIFrameElement>(null);
  const [error, setError] = useState<unknown>(null);
  const [paper, setPaper] = useState("a4");
  const { page, version } = preview;
  useEffect(() => {
    if (frame.current && page !== null) return fillFrame(frame.current, page);
    return undefined;
  }, [page]);
  const old = version === null && preview.digest !== answer.reading_digest;
  const pdf = (): void => {
    const name = `${answer.patient_code}-${answer.session.date ?? answer.session.id}-${version === null ? "draft" : `v${version}`}.pdf`;
    reportPdf(answer.session.id, paper, version ?? undefined).then((file) => saveFile(file, name), setError);
  };
  return (
    <section class="sheet preview" aria-labelledby="preview">
      <div class="sheet-head">
        <h2 id="preview">{version === null ? t("preview.draft") : t("preview.version", { number: version })}</h2>
        {version !== null && <button type="button" class="quiet" onClick={() => preview.show(null)}>{t("preview.back")}</button>}
        <span class="end">
          <select aria-label={t("preview.paper")} value={paper} onChange={(event) => setPaper(event.currentTarget.value)}>
            <option value="a4">{t("paper.a4")}</option>
            <option value="letter">{t("paper.letter")}</option>
          </select>
          <button type="button" onClick={pdf}>{t("preview.pdf")}</button>
        </span>
      </div>
      <p class="hint" role="status">{page === null ? t("preview.making") : version !== null ? t("preview.signed") : old ? t("preview.old") : t("preview.fresh")}</p>
      <Trouble error={preview.error ?? error} />
      <iframe ref={frame} class="report-frame" title={t("preview.frame")} sandbox="allow-same-origin" />
    </section>
  );
}
