/** Which stretch of a trial a link means: the one it names, or the one that a measure comes from. */
import type { Document, TrialAnswer } from "../../api/types";
import { measuresOf } from "../../state/measures";
import type { Span } from "../../traces/span";

const AROUND = 0.15;
const BEFORE_S = 3;

export function momentOf(trial: TrialAnswer, document: Document, query: URLSearchParams): Span | null {
  const [start_s, stop_s] = [number(query, "start"), number(query, "stop")];
  if (start_s !== null && stop_s !== null) {
    const room = AROUND * (stop_s - start_s);
    return { start_s: start_s - room, stop_s: stop_s + room };
  }
  return ofMeasure(trial, document, query.get("measure"));
}

/** A step's response has its own change of velocity; other measures rest on the whole trial. */
function ofMeasure(trial: TrialAnswer, document: Document, id: string | null): Span | null {
  const measure = id === null ? undefined : measuresOf(document).get(id)?.measure;
  if (!measure) return null;
  const at = trial.changes.findIndex((change) => change.of === measure.of);
  const change = trial.changes[at];
  const whole = { start_s: trial.start_s, stop_s: trial.stop_s };
  if (!change) return whole;
  return { start_s: Math.max(change.at_s - BEFORE_S, whole.start_s), stop_s: trial.changes[at + 1]?.at_s ?? whole.stop_s };
}

function number(query: URLSearchParams, name: string): number | null {
  const value = Number(query.get(name) ?? NaN);
  return Number.isFinite(value) ? value : null;
}
