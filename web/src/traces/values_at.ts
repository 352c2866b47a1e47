/** What is drawn at one moment, for reading it off: a sample, or the range of a column. */
import type { TraceWindow } from "./window_format";

export interface Shown {
  readonly low: number;
  readonly high: number;
  /** Samples of this column are lost; all of them where low is NaN. */
  readonly lost: boolean;
}

export function valueAt(window: TraceWindow, channel: string, at_s: number): Shown | null {
  const columns = window.channels.get(channel);
  if (!columns) return null;
  const exact = (at_s - window.start_s) / window.step_s;
  const index = window.exact ? Math.round(exact) : Math.floor(exact);
  if (index < 0 || index >= window.columns) return null;
  return { low: columns.low[index] ?? NaN, high: columns.high[index] ?? NaN, lost: columns.missing[index] === 1 };
}

/** How far one step of the cursor goes: a sample when samples are shown, else a column. */
export function stepOf(window: TraceWindow | null, sampling_hz: number | null): number {
  if (window) return window.step_s;
  return sampling_hz ? 1 / sampling_hz : 0.01;
}
