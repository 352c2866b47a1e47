/** Which window to ask the server for, and which of those at hand is best to draw. Pure. */
import { contains, lengthOf, type Span } from "./span";
import { stopOf, type TraceWindow } from "./window_format";

export const COLUMNS_MOST = 8192;
/** More columns a pixel than this cost time in drawing and show nothing more. */
const DENSEST = 4;
/** Columns asked for a pixel: the server answers with at least half as many. */
const DENSITY = 2;
/** Fewer columns a pixel than this look coarse. */
const COARSEST = 0.75;
/** Lengths of view around it that are fetched on each side, so that panning never waits. */
const MARGIN = 1;
/** Share of the view that must be at hand beyond each edge before more is asked for. */
const SPARE = 0.35;

export interface Wish extends Span {
  readonly columns: number;
}

/** The view with its margins, within the whole. */
export function wishFor(view: Span, whole: Span, width_px: number): Wish {
  const pixels = Math.max(Math.ceil(width_px), 1);
  const margin = Math.max(0, Math.min(MARGIN, (COLUMNS_MOST / (DENSITY * pixels) - 1) / 2)) * lengthOf(view);
  const start_s = Math.max(whole.start_s, view.start_s - margin);
  const stop_s = Math.min(whole.stop_s, view.stop_s + margin);
  const columns = Math.ceil((DENSITY * pixels * (stop_s - start_s)) / lengthOf(view));
  return { start_s, stop_s, columns: Math.min(Math.max(columns, 1), COLUMNS_MOST) };
}

/** Whether a window shows this view as well as any could, with enough beside it. */
export function serves(window: TraceWindow, view: Span, whole: Span, width_px: number): boolean {
  return isFine(window, view, width_px) && contains(spanOf(window), withSpare(view, whole, window.step_s));
}

/** The best window at hand: one that covers the view, the finest that is not too dense; else the widest. */
export function bestOf(windows: readonly TraceWindow[], view: Span, width_px: number): TraceWindow | null {
  const covering = windows.filter((window) => contains(spanOf(window), withinEnds(view, window)));
  const [few, dense] = parted(covering, (window) => columnsIn(window, view) <= DENSEST * width_px);
  return least(few, (window) => window.step_s) ?? least(dense, (window) => -window.step_s) ?? widest(windows);
}

export function spanOf(window: TraceWindow): Span {
  return { start_s: window.start_s, stop_s: stopOf(window) };
}

function isFine(window: TraceWindow, view: Span, width_px: number): boolean {
  return window.exact || columnsIn(window, view) >= COARSEST * width_px;
}

function columnsIn(window: TraceWindow, view: Span): number {
  return lengthOf(view) / window.step_s;
}

/** The view and what must be at hand beside it; the ends of the recording need nothing beyond. */
function withSpare(view: Span, whole: Span, slack_s: number): Span {
  const spare = SPARE * lengthOf(view);
  return {
    start_s: Math.max(view.start_s - spare, whole.start_s + slack_s),
    stop_s: Math.min(view.stop_s + spare, whole.stop_s - slack_s),
  };
}

/** A window ends within a column of what was asked for. */
function withinEnds(view: Span, window: TraceWindow): Span {
  return { start_s: view.start_s + window.step_s, stop_s: Math.max(view.stop_s - window.step_s, view.start_s + window.step_s) };
}

function parted<T>(all: readonly T[], first: (one: T) => boolean): [T[], T[]] {
  return [all.filter(first), all.filter((one) => !first(one))];
}

function least<T>(all: readonly T[], by: (one: T) => number): T | null {
  return all.reduce<T | null>((best, one) => (best === null || by(one) < by(best) ? one : best), null);
}

function widest(windows: readonly TraceWindow[]): TraceWindow | null {
  return least(windows, (window) => -window.columns * window.step_s);
}
