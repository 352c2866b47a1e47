/** Drawing columns of samples as a line: smallest to largest in each pixel, broken where samples are lost. */
import type { Columns, TraceWindow } from "./window_format";

/** Seconds and units to device pixels of one panel. */
export interface Frame {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  readonly start_s: number;
  readonly stop_s: number;
  readonly low: number;
  readonly high: number;
}

export interface Stroke {
  readonly colour: string;
  readonly width: number;
  readonly alpha?: number;
  readonly dash?: readonly number[];
}

/** What a broken line tells: samples that no eye gave, or only the other phase of a nystagmus. */
export type Breaks = "lost" | "ordinary";

/** How faint a column is drawn in which some samples are lost. */
const FAINT = 0.45;

/** The columns of a window that lie in a frame, one more on each side. */
export function columnsIn(window: TraceWindow, frame: Frame): [number, number] {
  const from = Math.floor((frame.start_s - window.start_s) / window.step_s) - 1;
  const to = Math.ceil((frame.stop_s - window.start_s) / window.step_s) + 1;
  return [Math.max(from, 0), Math.min(to, window.columns)];
}

/** Smallest and largest of what falls into one pixel, and whether anything of it is lost. */
export interface Pixel {
  x: number;
  low: number;
  high: number;
  lost: boolean;
}

/** Columns folded into pixels, in order; `low` is NaN where a pixel holds no sample at all. */
export function* pixelsOf(window: TraceWindow, columns: Columns, frame: Frame): Generator<Pixel> {
  const [from, to] = columnsIn(window, frame);
  const scale = (frame.right - frame.left) / (frame.stop_s - frame.start_s);
  const zero = frame.left + (window.start_s - frame.start_s + (window.exact ? 0 : window.step_s / 2)) * scale;
  const each = window.step_s * scale;
  let pixel: Pixel | null = null;
  for (let index = from; index < to; index += 1) {
    const x = zero + index * each;
    if (!pixel || x - pixel.x >= 1) {
      if (pixel) yield pixel;
      pixel = { x, low: NaN, high: NaN, lost: false };
    }
    widen(pixel, columns, index);
  }
  if (pixel) yield pixel;
}

function widen(pixel: Pixel, columns: Columns, index: number): void {
  const low = columns.low[index] ?? NaN;
  const high = columns.high[index] ?? NaN;
  if (!(low >= pixel.low)) pixel.low = Number.isNaN(low) ? pixel.low : low;
  if (!(high <= pixel.high)) pixel.high = Number.isNaN(high) ? pixel.high : high;
  if (columns.missing[index]) pixel.lost = true;
}

/** The line of one channel: whole where nothing is lost, apart and faint where something is. */
export function drawLine(
  context: CanvasRenderingContext2D,
  window: TraceWindow,
  columns: Columns,
  frame: Frame,
  stroke: Stroke,
  breaks: Breaks,
): void {
  const whole = new Path2D();
  const broken = new Path2D();
  const scale = (frame.bottom - frame.top) / (frame.high - frame.low);
  const y = (value: number): number => frame.bottom - (value - frame.low) * scale;
  let joined = false;
  let last = 0;
  for (const pixel of pixelsOf(window, columns, frame)) {
    if (Number.isNaN(pixel.low)) {
      joined = false;
    } else if (pixel.lost && !window.exact) {
      upright(breaks === "lost" ? broken : whole, pixel.x, y(pixel.low), y(pixel.high));
      joined = false;
    } else {
      last = joined ? onward(whole, pixel.x, y(pixel.low), y(pixel.high), last) : upright(whole, pixel.x, y(pixel.low), y(pixel.high));
      joined = true;
    }
  }
  paint(context, whole, stroke, stroke.alpha ?? 1);
  paint(context, broken, stroke, FAINT * (stroke.alpha ?? 1));
}

/** On to the next column by its nearer end, then across it; returns where the line now is. */
function onward(path: Path2D, x: number, low: number, high: number, last: number): number {
  const [first, second] = Math.abs(low - last) <= Math.abs(high - last) ? [low, high] : [high, low];
  path.lineTo(x, first);
  if (second !== first) path.lineTo(x, second);
  return second;
}

/** A column by itself, never shorter than it can be seen. */
function upright(path: Path2D, x: number, low: number, high: number): number {
  path.moveTo(x, low + (low === high ? 0.5 : 0));
  path.lineTo(x, high);
  return high;
}

function paint(context: CanvasRenderingContext2D, path: Path2D, stroke: Stroke, alpha: number): void {
  context.globalAlpha = alpha;
  context.strokeStyle = stroke.colour;
  context.lineWidth = stroke.width;
  context.lineJoin = "round";
  context.setLineDash([...(stroke.dash ?? [])]);
  context.stroke(path);
  context.setLineDash([]);
  context.globalAlpha = 1;
}

/** Stretches of pixels in which samples are lost, each at least `least` wide, joined where they touch. */
export function lostRuns(window: TraceWindow, columns: Columns, frame: Frame, least: number): [number, number][] {
  const runs: [number, number][] = [];
  const width = Math.max((window.step_s * (frame.right - frame.left)) / (frame.stop_s - frame.start_s), least);
  for (const pixel of pixelsOf(window, columns, frame)) {
    if (pixel.lost) join(runs, pixel.x - width / 2, pixel.x + width / 2);
  }
  return runs;
}

/** Intervals as stretches of pixels, each at least `least` wide, joined where they touch. */
export function spanRuns(spans: Iterable<{ start_s: number; stop_s: number }>, frame: Frame, least: number): [number, number][] {
  const runs: [number, number][] = [];
  const scale = (frame.right - frame.left) / (frame.stop_s - frame.start_s);
  for (const { start_s, stop_s } of spans) {
    if (stop_s < frame.start_s || start_s > frame.stop_s) continue;
    const from = frame.left + (start_s - frame.start_s) * scale;
    const to = frame.left + (stop_s - frame.start_s) * scale;
    const spare = Math.max(least - (to - from), 0) / 2;
    join(runs, from - spare, to + spare);
  }
  return runs;
}

function join(runs: [number, number][], from: number, to: number): void {
  const last = runs.at(-1);
  if (last && from <= last[1] + 0.5) last[1] = Math.max(last[1], to);
  else runs.push([from, to]);
}
