import { useEffect } from "preact/hooks";
import type { Document, Trial } from "../../api/types";
import { aboutRecording } from "../../format/measure";
import { fixed } from "../../format/number";
import { GradeMark } from "../../parts/GradeMark";
import { MeasureTable } from "../../parts/MeasureTable";
import { Why } from "../../parts/Why";
import { word } from "../../state/about";
import { together } from "../../state/measures";
import { t } from "../../text/text";

interface MeasurePanelProps {
  readonly document: Document;
  readonly id: string;
  readonly marked: string | null;
}

/** The numbers of a trial: of the patient first, of the recording after, and those it shares with others. */
export function MeasurePanel({ document, id, marked }: MeasurePanelProps) {
  const trial = document.trials.find((one) => one.id === id);
  useEffect(() => {
    if (marked) window.document.querySelector("tr.marked")?.scrollIntoView({ block: "center" });
  }, [marked]);
  if (!trial) return null;
  const shared = sharedReasons(trial);
  const [ofPatient, ofRecording] = [false, true].map((about) => trial.measures.filter((measure) => aboutRecording(measure) === about));
  return (
    <>
      <Quality trial={trial} shared={shared} />
      {trial.measures.length > 0 && <MeasureTable caption={t("measures.of_trial", { trial: id })} measures={ofPatient ?? []} shared={shared} marked={marked} />}
      {!trial.measures.length && <p class="nothing">{t("measures.none")}</p>}
      {together(document, id).map(({ kind, others, measures }) => (
        <section key={kind + others.join()} class="together">
          <h2>{t("measures.together", { kind: word("kind", kind), others: others.join(", ") })}</h2>
          <MeasureTable caption={t("measures.together", { kind: word("kind", kind), others: others.join(", ") })} measures={measures} marked={marked} />
        </section>
      ))}
      {!!ofRecording?.length && (
        <details open={ofRecording.some((measure) => measure.id === marked)}>
          <summary>{t("measures.of_recording", { count: ofRecording.length })}</summary>
          <MeasureTable caption={t("measures.recording_caption", { trial: id })} measures={ofRecording} shared={shared} marked={marked} />
        </details>
      )}
    </>
  );
}

function Quality({ trial, shared }: { readonly trial: Trial; readonly shared: readonly string[] }) {
  const { quality, parts } = trial;
  if (!quality) return null;
  return (
    <div class="quality">
      <p>
        <b>{t("quality.title")}</b> <GradeMark grade={quality.grade} />
        {quality.usable_pct !== null && <span> {t("trials.usable", { share: fixed(quality.usable_pct, 0) })}</span>}
        {parts.length > 1 && <span class="under">{t("quality.parts", { trials: parts.join(", ") })}</span>}
      </p>
      {shared.map((code) => <Why key={code} code={code} />)}
    </div>
  );
}

/** Reasons of the whole trial: told once above the table, not again in each row. */
export function sharedReasons(trial: Trial): string[] {
  const lists = trial.measures.filter((measure) => measure.value !== null).map((measure) => measure.why);
  const everywhere = (lists[0] ?? []).filter((code) => lists.every((why) => why.includes(code)));
  return [...new Set([...(trial.quality?.why ?? []), ...everywhere])];
}
