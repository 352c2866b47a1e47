import { useMemo, useState } from "preact/hooks";
import { previewWindow } from "../../api/further_calls";
import type { ImportAnswer, PreviewTrial } from "../../api/further_types";
import type { TrialAnswer } from "../../api/types";
import { fixed } from "../../format/number";
import { Trouble } from "../../parts/Trouble";
import { Store } from "../../state/store";
import { t } from "../../text/text";
import { TraceModel } from "../../traces/model";
import { TraceView } from "../../traces/TraceView";
import type { TraceWindow } from "../../traces/window_format";

interface PreviewPartProps {
  readonly answer: ImportAnswer;
  readonly shown: string;
  readonly onChoose: (trial: string) => void;
}

/** The traces of the chosen trial, with the columns as they are described now. */
export function PreviewPart({ answer, shown, onChoose }: PreviewPartProps) {
  const trial = answer.preview.find(({ id }) => id === shown);
  return (
    <section class="sheet preview-part" aria-labelledby="traces">
      <div class="sheet-head">
        <h2 id="traces">{t("bring.preview")}</h2>
        {answer.preview.length > 0 && (
          <select aria-label={t("bring.preview_of")} value={trial ? shown : ""} onChange={(event) => onChoose(event.currentTarget.value)}>
            {!trial && <option value="">{t("stimulus.choose")}</option>}
            {answer.preview.map(({ id }) => <option key={id} value={id}>{id}</option>)}
          </select>
        )}
      </div>
      {trial ? <Traces key={trial.id} answer={answer} trial={trial} /> : <p class="nothing">{t("bring.no_preview")}</p>}
    </section>
  );
}

function Traces({ answer, trial }: { readonly answer: ImportAnswer; readonly trial: PreviewTrial }) {
  const [error, setError] = useState<unknown>(null);
  const drawn = useMemo(() => new Store<TraceWindow | null>(null), []);
  const stand = useMemo(() => asTrial(trial), [answer]);
  const model = useMemo(() => new TraceModel(stand), [stand]);
  const channels = trial.channels.filter(({ panel }) => panel !== "other").map(({ id }) => id);
  if (!channels.length) return <p class="nothing">{t("bring.no_channels")}</p>;
  const read = (wish: { start_s: number; stop_s: number; columns: number }, signal: AbortSignal): Promise<ArrayBuffer> =>
    previewWindow(answer.id, trial.id, { channels, ...wish }, signal);
  return (
    <>
      <Trouble error={error} />
      <TraceView session={answer.id} trial={stand} model={model} drawn={drawn} failed={setError} read={read}
        summary={t("bring.summary", { seconds: fixed(trial.stop_s - trial.start_s, 1), lines: trial.channels.map(({ label }) => label).join(", ") })} />
      <p class="hint">{t("bring.lines", { lines: trial.channels.map(({ label, unit }) => (unit ? `${label} (${unit})` : label)).join(", ") })}</p>
    </>
  );
}

/** A trial of an import as the traces know one: nothing is measured yet. */
function asTrial({ id, start_s, stop_s, channels }: PreviewTrial): TrialAnswer {
  return {
    id, start_s, stop_s, channels, kind: "other", vision: null, outcome: "done", eye: "both", traces: "", step_s: 1, places: 0,
    sampling_hz: null, samples: 0, cycle_s: null, cycles: [], changes_s: [], changes: [], impulses: 0, quick_phases: [], unused: [],
    by_hand: { excluded: [], quick: [], not_quick_s: [] },
  };
}
