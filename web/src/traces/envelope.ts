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

/** Columns folded into pixels, kept for the next line: one after the other is drawn. */
class Pixels {
  count = 0;
  x = new Float64Array(0);
  /** Upper and lower end in device pixels; NaN where a pixel holds no sample. */
  top = new Float64Array(0);
  bottom = new Float64Array(0);
  lost = new Uint8Array(0);

  clear(most: number): void {
    this.count = 0;
    if (this.x.length >= most) return;
    this.x = new Float64Array(most);
    this.top = new Float64Array(most);
    this.bottom = new Float64Array(most);
    this.lost = new Uint8Array(most);
  }

  add(x: number, top: number, bottom: number, lost: number): void {
    this.x[this.count] = x;
    this.top[this.count] = top;
    this.bottom[this.count] = bottom;
    this.lost[this.count] = lost;
    this.count += 1;
  }

  /** Device pixels up and down for each one along: how dense the line is. */
  steepness(): number {
    let travel = 0;
    for (let index = 0; index < this.count; index += 1) travel += (this.bottom[index] ?? 0) - (this.top[index] ?? 0) || 0;
    return this.count ? travel / this.count : 0;
  }
}

const shared = new Pixels();

/** So many steps across a panel are enough for any eye; more would only cost time on a very wide one. */
const STEPS = 1800;

function stepOf(frame: Frame): number {
  return Math.max(1, (frame.right - frame.left) / STEPS);
}

/** The columns of a frame, several to a step where there are as many. */
function fold(window: TraceWindow, columns: Columns, frame: Frame, pixels: Pixels): void {
  const [from, to] = columnsIn(window, frame);
  pixels.clear(to - from);
  const across = (frame.right - frame.left) / (frame.stop_s - frame.start_s);
  const up = (frame.bottom - frame.top) / (frame.high - frame.low);
  const zero = frame.left + (window.start_s - frame.start_s + (window.exact ? 0 : window.step_s / 2)) * across;
  const each = window.step_s * across;
  const step = stepOf(frame);
  const { low, high, missing } = columns;
  let index = from;
  while (index < to) {
    const x = zero + index * each;
    let [least, most, lost] = [Infinity, -Infinity, 0];
    for (; index < to && zero + index * each - x < step; index += 1) {
      const [under, over] = [low[index] as number, high[index] as number];
      if (under < least) least = under;
      if (over > most) most = over;
      lost |= missing[index] as number;
    }
    if (most < least) pixels.add(x, NaN, NaN, lost);
    else pixels.add(x, frame.bottom - (most - frame.low) * up, frame.bottom - (least - frame.low) * up, lost);
  }
}

/** Device pixels up and down for each one along from where bars are drawn: strokes would cost too much. */
const STEEP = 6;

/** The line of one channel: whole where nothing is lost, apart and faint where something is. */
export function drawLine(
  context: CanvasRenderingContext2D,
  window: TraceWindow,
  columns: Columns,
  frame: Frame,
  stroke: Stroke,
  breaks: Breaks,
): void {
  fold(window, columns, frame, shared);
  const tells = breaks === "lost" && !window.exact;
  const parts = tells ? [0, 1] : [null];
  const draw = shared.steepness() > STEEP ? drawBars : drawStrokes;
  for (const part of parts) {
    context.globalAlpha = (stroke.alpha ?? 1) * (part === 1 ? FAINT : 1);
    draw(context, shared, stroke, part, frame);
  }
  context.globalAlpha = 1;
}

/** A thin line through the columns; `part` 0 and 1 leave out those with and without lost samples. */
function drawStrokes(context: CanvasRenderingContext2D, pixels: Pixels, stroke: Stroke, part: number | null, frame: Frame): void {
  const path = new Path2D();
  const across = (frame.right - frame.left) / (frame.stop_s - frame.start_s);
  const even = !stroke.dash || (1 + pixels.steepness()) * (frame.right - frame.left) < DASHED_PX;
  let joined = false;
  let last = 0;
  for (let index = 0; index < pixels.count; index += 1) {
    const [x, top, bottom] = [pixels.x[index] as number, pixels.top[index] as number, pixels.bottom[index] as number];
    const shown = !Number.isNaN(top) && (part === null || pixels.lost[index] === part) && (even || isOn(stroke, x - frame.left + frame.start_s * across));
    if (!shown) joined = false;
    else if (joined) last = onward(path, x, top, bottom, last);
    else last = upright(path, x, top, bottom);
    if (shown) joined = part !== 1;
  }
  context.strokeStyle = stroke.colour;
  context.lineWidth = stroke.width;
  context.lineJoin = "bevel";
  context.setLineDash(even && stroke.dash ? [...stroke.dash] : []);
  context.stroke(path);
  context.setLineDash([]);
}

/** Dashes along a longer line than this cost more time than all else together. */
const DASHED_PX = 8000;

/** Dashes of a long line are cut by time instead: less even, and for nothing. */
function isOn({ dash }: Stroke, along: number): boolean {
  const [on, off] = dash ?? [];
  if (on === undefined || off === undefined) return true;
  const period = on + off;
  return along - Math.floor(along / period) * period < on;
}

/** On to the next column by its nearer end, then across it; returns where the line now is. */
function onward(path: Path2D, x: number, top: number, bottom: number, last: number): number {
  const [first, second] = Math.abs(top - last) <= Math.abs(bottom - last) ? [top, bottom] : [bottom, top];
  path.lineTo(x, first);
  if (second !== first) path.lineTo(x, second);
  return second;
}

/** A column by itself, never shorter than it can be seen. */
function upright(path: Path2D, x: number, top: number, bottom: number): number {
  path.moveTo(x, bottom + (top === bottom ? 0.5 : 0));
  path.lineTo(x, top);
  return top;
}

/** A bar for each column, reaching to the one before: a dense line is an area, and its dashes are not seen. */
function drawBars(context: CanvasRenderingContext2D, pixels: Pixels, stroke: Stroke, part: number | null, frame: Frame): void {
  context.fillStyle = stroke.colour;
  const width = Math.max(Math.round(stroke.width), Math.ceil(stepOf(frame)));
  let [before, under] = [NaN, NaN];
  for (let index = 0; index < pixels.count; index += 1) {
    const [top, bottom] = [pixels.top[index] as number, pixels.bottom[index] as number];
    const shown = !Number.isNaN(top) && (part === null || pixels.lost[index] === part);
    if (shown) {
      const from = Math.max(Math.min(top, Number.isNaN(under) ? top : under), frame.top);
      const to = Math.min(Math.max(bottom, Number.isNaN(before) ? bottom : before), frame.bottom);
      context.fillRect(Math.round(pixels.x[index] as number), from, width, Math.max(to - from, width));
    }
    [before, under] = shown ? [top, bottom] : [NaN, NaN];
  }
}

/** Stretches in which samples of all these channels are lost, each at least `least` pixels wide, joined where they touch. */
export function lostRuns(window: TraceWindow, ids: readonly string[], frame: Frame, least: number): [number, number][] {
  const known = ids.map((id) => window.channels.get(id)?.missing).filter((missing) => missing !== undefined);
  const runs: [number, number][] = [];
  if (!known.length) return runs;
  const [from, to] = columnsIn(window, frame);
  const scale = (frame.right - frame.left) / (frame.stop_s - frame.start_s);
  const each = window.step_s * scale;
  const half = Math.max(each, least) / 2;
  const middle = frame.left + (window.start_s - frame.start_s) * scale + (window.exact ? 0 : each / 2);
  for (let index = from; index < to; index += 1) {
    if (known.every((missing) => missing[index] === 1)) join(runs, middle + index * each - half, middle + index * each + half);
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
