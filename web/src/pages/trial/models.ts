/** One model of traces for each trial that was opened: coming back finds it as it was left. */
import type { TrialAnswer } from "../../api/types";
import { keep, kept } from "../../state/kept";
import { TraceModel, type TraceState } from "../../traces/model";
import { hiddenAtFirst } from "../../traces/series";

type Kept = Pick<TraceState, "chosen" | "beat_s" | "view">;

const models = new Map<string, TraceModel>();
const PAUSE_MS = 250;

export function modelOf(session: string, trial: TrialAnswer): TraceModel {
  const name = `traces.${session}.${trial.id}`;
  const known = models.get(name);
  if (known) {
    if (known.trial !== trial) known.replace(trial);
    return known;
  }
  const model = new TraceModel(trial, { hidden: hiddenAtFirst(trial), ...kept<Partial<Kept>>(name, {}) });
  model.show(model.state.value.view);
  models.set(name, model);
  keepChoices(name, model);
  return model;
}

/** The chosen interval outlives a reload: it may be half of an edit. */
function keepChoices(name: string, model: TraceModel): void {
  let timer: ReturnType<typeof setTimeout> | undefined;
  model.state.watch(({ chosen, beat_s, view }) => {
    clearTimeout(timer);
    timer = setTimeout(() => keep(name, { chosen, beat_s, view } satisfies Kept), PAUSE_MS);
  });
}
