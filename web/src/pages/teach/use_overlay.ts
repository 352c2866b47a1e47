/** One session's traces, brought to the lesson's axis of time. */
import { useEffect, useMemo, useState } from "preact/hooks";
import { deskOf } from "../../state/session";
import { useStore } from "../../state/store";
import { pieceOf } from "../../traces/pieces";
import { channelOf, useWholes, type Whole } from "../trial/use_window";
import type { Lesson, Shown } from "./lesson_format";
import { LAID_OVER, matchOf, shiftOf } from "./matching";
import type { Overlay } from "./pictures";

export interface OverlayState {
  readonly overlay: Overlay;
  readonly matched: number;
  readonly reading: boolean;
  readonly error: unknown;
}

const NONE: Overlay = new Map();
const NOBODY = "";

export function useOverlay(session: string, lesson: Lesson | null): OverlayState {
  const desk = useMemo(() => deskOf(session || NOBODY), [session]);
  const view = useStore(desk.view);
  const [shape, setShape] = useState<Lesson | null>(null);
  useEffect(() => {
    if (session) void desk.load();
  }, [desk]);
  useEffect(() => setShape((known) => known ?? lesson), [lesson]);
  const trials = session ? view.answer?.document?.trials : undefined;
  const pairs = useMemo(
    () => [...(shape?.values() ?? [])].flatMap((shown) => {
      const found = trials && LAID_OVER.has(shown.trial.kind) ? matchOf(shown.trial, trials) : undefined;
      return found ? [{ shown, id: found.id }] : [];
    }),
    [trials, shape],
  );
  const { wholes, error } = useWholes(session, [...new Set(pairs.map(({ id }) => id))], session);
  const overlay = useMemo(() => (pairs.length && wholes ? overlayOf(pairs, wholes) : NONE), [pairs, wholes]);
  const reading = session !== "" && !view.failure && (!trials || (pairs.length > 0 && !wholes));
  return { overlay, matched: pairs.length, reading, error: session ? (view.failure ?? error) : null };
}

function overlayOf(pairs: readonly { shown: Shown; id: string }[], wholes: readonly Whole[]): Overlay {
  return new Map(pairs.flatMap(({ shown, id }) => {
    const whole = wholes.find(({ trial }) => trial.id === id);
    return whole ? linesOf(shown, whole) : [];
  }));
}

function linesOf(shown: Shown, { trial, window }: Whole): [string, { x: number[]; y: (number | null)[] }][] {
  const median = channelOf(trial, "median");
  if (!median) return [];
  if (shown.trial.kind !== "step") {
    const shift = shiftOf(shown.trial, trial);
    return [[shown.trial.id, pieceOf(window, median, trial, (at_s) => at_s + shift)]];
  }
  return trial.changes.map((change, index) => {
    const stop_s = trial.changes[index + 1]?.at_s ?? trial.stop_s;
    return [`${shown.trial.id} ${change.of}`, pieceOf(window, median, { start_s: change.at_s, stop_s }, (at_s) => at_s - change.at_s)];
  });
}
