/** How high the panels are drawn: from the whole recording, so that panning never changes the scale. */
import type { TrialAnswer } from "../api/types";
import type { PanelName, Series } from "./series";
import type { TraceWindow } from "./window_format";

export type Range = readonly [number, number];

const MARGIN = 0.08;
const LEAST: Readonly<Record<PanelName, number>> = { position: 4, velocity: 10 };
const OUTLYING = 0.01;
const SPREADING = new Set(["eye", "position", "slow"]);

/** The range of a panel: all of chair, fit and medians; of eyes and slow phase what is not an outlier. */
export function rangeOf(panel: PanelName, series: readonly Series[], base: TraceWindow | null, taller: number): Range {
  const ends = series
    .filter((one) => one.panel === panel)
    .flatMap(({ channel }) => (SPREADING.has(channel.role) ? ordinaryEnds(base, channel.id) : known([channel.low, channel.high])));
  return heightened(ends.length ? [Math.min(...ends), Math.max(...ends)] : [0, 0], LEAST[panel], taller);
}

/** Which panels a trial has at all. */
export function panelsOf(trial: TrialAnswer): PanelName[] {
  return (["position", "velocity"] as const).filter((panel) => trial.channels.some((channel) => channel.panel === panel));
}

/** Ends of a channel without its few most extreme columns: a blink must not flatten everything else. */
function ordinaryEnds(base: TraceWindow | null, id: string): number[] {
  const columns = base?.channels.get(id);
  if (!columns) return [];
  return known([quantile(columns.low, OUTLYING), quantile(columns.high, 1 - OUTLYING)]);
}

function quantile(values: Float32Array, share: number): number | null {
  const sorted = values.filter((value) => !Number.isNaN(value)).sort();
  return sorted.length ? (sorted[Math.round(share * (sorted.length - 1))] ?? null) : null;
}

function known(values: readonly (number | null)[]): number[] {
  return values.filter((value): value is number => value !== null && Number.isFinite(value));
}

function heightened([low, high]: Range, least: number, taller: number): Range {
  const middle = (low + high) / 2;
  const half = (Math.max(high - low, least) * (0.5 + MARGIN)) / taller;
  return [middle - half, middle + half];
}
