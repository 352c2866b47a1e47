/** A plot of a few curves over one axis that is not the recording's time: cycles, steps, impulses. */
import uPlot from "uplot";
import { fixed } from "../format/number";
import type { Frame } from "./envelope";
import { type Palette, readPalette, watchPalette } from "./palette";
import { clipTo } from "./panel";

export interface Curve {
  readonly x: readonly number[];
  /** null breaks the line. */
  readonly y: readonly (number | null)[];
  readonly colour: keyof Palette;
  readonly width: number;
  readonly dash?: readonly number[];
  readonly alpha?: number;
  /** Written beside the curve, so that it is told by more than its line. */
  readonly label?: string;
  /** Where the label stands beside its curve. */
  readonly labelBelow?: boolean;
  /** Where along the x axis the label stands; where several curves have one, their labels keep apart by it. */
  readonly labelAt?: number;
}

export interface Area {
  readonly x: readonly number[];
  readonly low: readonly number[];
  readonly high: readonly number[];
  readonly colour: keyof Palette;
}

export interface CurvePicture {
  readonly xLabel: string;
  readonly yLabel: string;
  readonly xRange: readonly [number, number];
  readonly yRange: readonly [number, number];
  /** Little room: axes without labels. */
  readonly small?: boolean;
  /** Where the x axis has its marks; wherever there is room without it. */
  readonly xMarks?: readonly number[];
  readonly areas?: readonly Area[];
  readonly curves: readonly Curve[];
}

type Place = (x: number, y: number) => [number, number];

export class CurvePlot {
  #plot: uPlot;
  #palette: Palette = readPalette();
  readonly #undo: (() => void)[];

  constructor(
    private readonly host: HTMLElement,
    private picture: CurvePicture,
  ) {
    this.#plot = this.#made();
    const watcher = new ResizeObserver(() => this.#plot.setSize({ width: host.clientWidth, height: host.clientHeight }));
    watcher.observe(host);
    this.#undo = [() => watcher.disconnect(), watchPalette(() => this.#again())];
  }

  destroy(): void {
    for (const undo of this.#undo) undo();
    this.#plot.destroy();
  }

  /** Draw another picture in the same place; the plot is made anew only where its axes are others. */
  show(picture: CurvePicture): void {
    const before = this.picture;
    this.picture = picture;
    if (before.xLabel !== picture.xLabel || before.yLabel !== picture.yLabel || before.small !== picture.small) return this.#again();
    const moves = String(before.xRange) !== String(picture.xRange) || String(before.yRange) !== String(picture.yRange);
    if (!moves) return this.#plot.redraw(false);
    this.#plot.batch(() => {
      this.#plot.setScale("x", { min: picture.xRange[0], max: picture.xRange[1] });
      this.#plot.setScale("y", { min: picture.yRange[0], max: picture.yRange[1] });
    });
  }

  #again(): void {
    this.#palette = readPalette();
    this.#plot.destroy();
    this.#plot = this.#made();
  }

  #made(): uPlot {
    const { xRange } = this.picture;
    const options: uPlot.Options = {
      width: this.host.clientWidth,
      height: this.host.clientHeight,
      cursor: { show: false },
      legend: { show: false },
      scales: {
        x: { time: false, range: () => [this.picture.xRange[0], this.picture.xRange[1]] },
        y: { range: () => [this.picture.yRange[0], this.picture.yRange[1]] },
      },
      series: [{}, { paths: () => null, points: { show: false } }],
      axes: [{ ...this.#axis(this.picture.xLabel, 70), ...this.#marks() }, this.#axis(this.picture.yLabel, 30)],
      hooks: { draw: [(plot) => this.#paint(plot)] },
    };
    return new uPlot(options, [[...xRange], [null, null]], this.host);
  }

  #marks(): uPlot.Axis {
    const { xMarks } = this.picture;
    return xMarks ? { splits: () => [...(this.picture.xMarks ?? [])] } : {};
  }

  #axis(label: string, space: number): uPlot.Axis {
    const palette = this.#palette;
    const { small } = this.picture;
    return {
      ...(small ? {} : { label, labelFont: palette.font, labelSize: palette.size_px * 1.7 }),
      font: palette.font,
      size: palette.size_px * (small ? 2.4 : 3),
      space: small ? space / 2 : space,
      stroke: () => palette.faint,
      grid: { stroke: () => palette.grid, width: 1 },
      ticks: { stroke: () => palette.rule, size: 4, width: 1 },
      values: (_, splits, __, ___, step) => splits.map((at) => fixed(at, Math.max(0, Math.min(6, -Math.floor(Math.log10(step) + 1e-9))))),
    };
  }

  #paint(plot: uPlot): void {
    const { ctx, bbox } = plot;
    const ratio = uPlot.pxRatio;
    const frame = { left: bbox.left, right: bbox.left + bbox.width, top: bbox.top, bottom: bbox.top + bbox.height, start_s: 0, stop_s: 1, low: 0, high: 1 };
    const place: Place = (x, y) => [plot.valToPos(x, "x", true), plot.valToPos(y, "y", true)];
    ctx.save();
    clipTo(ctx, frame);
    for (const area of this.picture.areas ?? []) this.#area(ctx, area, place);
    this.#zero(ctx, frame.left, frame.right, place);
    for (const curve of this.picture.curves) this.#curve(ctx, curve, place, ratio);
    this.picture.curves.forEach((curve, index) => this.#label(ctx, curve, place, ratio, index, frame));
    ctx.restore();
  }

  #area(context: CanvasRenderingContext2D, { x, low, high, colour }: Area, place: Place): void {
    const path = new Path2D();
    x.forEach((at, index) => (index ? path.lineTo(...place(at, low[index] ?? 0)) : path.moveTo(...place(at, low[index] ?? 0))));
    for (let index = x.length - 1; index >= 0; index -= 1) path.lineTo(...place(x[index] ?? 0, high[index] ?? 0));
    context.fillStyle = this.#palette[colour] as string;
    context.fill(path);
  }

  #zero(context: CanvasRenderingContext2D, left: number, right: number, place: Place): void {
    context.fillStyle = this.#palette.rule;
    context.fillRect(left, place(0, 0)[1], right - left, 1);
  }

  #curve(context: CanvasRenderingContext2D, curve: Curve, place: Place, ratio: number): void {
    const path = new Path2D();
    let joined = false;
    curve.x.forEach((at, index) => {
      const value = curve.y[index] ?? null;
      if (value === null || Number.isNaN(value)) return (joined = false);
      if (joined) path.lineTo(...place(at, value));
      else path.moveTo(...place(at, value));
      return (joined = true);
    });
    context.globalAlpha = curve.alpha ?? 1;
    context.strokeStyle = this.#palette[curve.colour] as string;
    context.lineWidth = curve.width * ratio;
    context.setLineDash((curve.dash ?? []).map((part) => part * ratio));
    context.stroke(path);
    context.setLineDash([]);
    context.globalAlpha = 1;
  }

  /** A label with a rim beside its curve; each a little further along, so that they keep apart. */
  #label(context: CanvasRenderingContext2D, curve: Curve, place: Place, ratio: number, order: number, frame: Frame): void {
    if (!curve.label) return;
    const at = labelledPoint(curve, 0.05 + 0.07 * order);
    if (at === undefined) return;
    const [x, y] = place(curve.x[at] ?? 0, curve.y[at] ?? 0);
    context.font = `600 ${this.#palette.font.replace(/^([\d.]+)px/, (_, size: string) => `${Number(size) * ratio}px`)}`;
    const away = curve.labelBelow ? -1 : 1;
    const room = this.#palette.size_px * ratio;
    const left = x + 12 * ratio;
    const top = Math.min(Math.max(y - away * (20 + (curve.labelAt === undefined ? 3 * order : 0)) * ratio, frame.top + room), frame.bottom - room);
    context.strokeStyle = this.#palette.faint;
    context.lineWidth = ratio * 0.7;
    context.beginPath();
    context.moveTo(x, y);
    context.lineTo(left - 3 * ratio, top);
    context.stroke();
    context.textBaseline = "middle";
    context.textAlign = "left";
    context.strokeStyle = this.#palette.sheet;
    context.lineWidth = 4 * ratio;
    context.lineJoin = "round";
    context.strokeText(curve.label, left, top);
    context.fillStyle = this.#palette.ink;
    context.fillText(curve.label, left, top);
  }
}

/** The point of a curve that its label belongs to: nearest to where it is asked for, else at a share of its length. */
export function labelledPoint({ x, y, labelAt }: Curve, share: number): number | undefined {
  const known = x.map((_, index) => index).filter((index) => y[index] !== null && !Number.isNaN(y[index]));
  if (labelAt === undefined) return known[Math.min(Math.floor(known.length * share), known.length - 1)];
  const away = (index: number): number => Math.abs((x[index] ?? 0) - labelAt);
  return known.reduce<number | undefined>((best, index) => (best === undefined || away(index) < away(best) ? index : best), undefined);
}

/** A range that holds all values, with a little room. */
export function rangeOfCurves(curves: readonly { readonly y: readonly (number | null)[] }[], least: number): [number, number] {
  let [low, high] = [0, 0];
  for (const { y } of curves) {
    for (const value of y) {
      if (value === null || Number.isNaN(value)) continue;
      if (value < low) low = value;
      if (value > high) high = value;
    }
  }
  const spare = Math.max(0.06 * (high - low), (least - (high - low)) / 2);
  return [low - spare, high + spare];
}
