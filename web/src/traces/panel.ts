/** One panel of the stack: scales, axes and grid by uPlot, lines by our own hand. */
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { fixed } from "../format/number";
import type { Frame } from "./envelope";
import type { Palette } from "./palette";
import type { Span } from "./span";

export interface PanelSize {
  readonly width: number;
  readonly height: number;
  /** Width of the axis at the left, in CSS pixels; the same for all panels, so that time lines up. */
  readonly gutter: number;
  /** Height of the axis of time; 0 where another panel carries it. */
  readonly timeAxis: number;
}

export type Draw = (context: CanvasRenderingContext2D, frame: Frame, ratio: number) => void;

export const RIGHT_EDGE = 10;
export const TOP_EDGE = 4;

export class Panel {
  readonly #plot: uPlot;
  #view: Span;
  #range: readonly [number, number];

  constructor(
    readonly root: HTMLElement,
    private palette: Palette,
    size: PanelSize,
    view: Span,
    range: readonly [number, number],
    private readonly draw: Draw,
    private readonly ruled: boolean,
  ) {
    this.#view = view;
    this.#range = range;
    this.#plot = new uPlot(this.#options(size), [[view.start_s, view.stop_s], [null, null]], root);
  }

  /** Draw another stretch of time, or another range of values. */
  show(view: Span, range: readonly [number, number]): void {
    const moves = view.start_s !== this.#view.start_s || view.stop_s !== this.#view.stop_s;
    const stretches = range[0] !== this.#range[0] || range[1] !== this.#range[1];
    this.#view = view;
    this.#range = range;
    if (!moves && !stretches) return this.#plot.redraw(false);
    this.#plot.batch(() => {
      if (moves) this.#plot.setScale("x", { min: view.start_s, max: view.stop_s });
      if (stretches) this.#plot.setScale("y", { min: range[0], max: range[1] });
    });
  }

  resize(width: number, height: number): void {
    this.#plot.setSize({ width, height });
  }

  destroy(): void {
    this.#plot.destroy();
  }

  #options({ width, height, gutter, timeAxis }: PanelSize): uPlot.Options {
    return {
      width,
      height,
      padding: [TOP_EDGE, RIGHT_EDGE, timeAxis ? 0 : TOP_EDGE, 0],
      cursor: { show: false },
      legend: { show: false },
      scales: {
        x: { time: false, range: () => [this.#view.start_s, this.#view.stop_s] },
        y: { range: () => [this.#range[0], this.#range[1]] },
      },
      series: [{}, { paths: () => null, points: { show: false } }],
      axes: [this.#timeAxis(timeAxis), this.#valueAxis(gutter)],
      hooks: { draw: [(plot) => this.#paint(plot)] },
    };
  }

  #timeAxis(size: number): uPlot.Axis {
    return {
      show: true,
      size,
      font: this.palette.font,
      stroke: () => this.palette.faint,
      grid: { stroke: () => this.palette.grid, width: 1 },
      ticks: { show: size > 0, stroke: () => this.palette.rule, size: 4, width: 1 },
      gap: 3,
      space: 90,
      values: (_, splits, __, ___, increment) => splits.map((at) => (size ? inSteps(at, increment) : "")),
    };
  }

  #valueAxis(gutter: number): uPlot.Axis {
    return {
      show: true,
      size: gutter,
      font: this.palette.font,
      stroke: () => this.palette.faint,
      grid: { show: this.ruled, stroke: () => this.palette.grid, width: 1 },
      ticks: { show: this.ruled, stroke: () => this.palette.rule, size: 4, width: 1 },
      gap: 3,
      space: 26,
      values: (_, splits, __, ___, increment) => splits.map((at) => (this.ruled ? inSteps(at, increment) : "")),
    };
  }

  #paint(plot: uPlot): void {
    const { ctx, bbox } = plot;
    const frame: Frame = {
      left: bbox.left,
      right: bbox.left + bbox.width,
      top: bbox.top,
      bottom: bbox.top + bbox.height,
      start_s: this.#view.start_s,
      stop_s: this.#view.stop_s,
      low: this.#range[0],
      high: this.#range[1],
    };
    ctx.save();
    this.draw(ctx, frame, uPlot.pxRatio);
    ctx.restore();
  }
}

/** Clip to the panel's own area; call inside save and restore. */
export function clipTo(context: CanvasRenderingContext2D, frame: Frame): void {
  context.beginPath();
  context.rect(frame.left, frame.top, frame.right - frame.left, frame.bottom - frame.top);
  context.clip();
}

/** A number with no more decimals than the step between the marks needs. */
function inSteps(at: number, step: number): string {
  return fixed(at, Math.min(Math.max(-Math.floor(Math.log10(step) + 1e-9), 0), 6));
}
