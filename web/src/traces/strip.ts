/** The whole recording in one strip: where the view is, and a place to drag another one. */
import type { Channel } from "../api/types";
import { drawLine, type Frame, lostRuns } from "./envelope";
import { eyesInUse } from "./lanes";
import type { TraceModel } from "./model";
import { type Palette, readPalette, watchPalette } from "./palette";
import { seriesOf } from "./series";
import { centred, lengthOf, ordered } from "./span";
import type { TraceWindow } from "./window_format";

const CLICK_PX = 4;
/** A chair that moves less is at rest: only its noise would be drawn. */
const STILL_DEG_S = 4;

export class OverviewStrip {
  readonly #canvas = document.createElement("canvas");
  readonly #box = document.createElement("div");
  readonly #undo: (() => void)[];
  #window: TraceWindow | null = null;

  constructor(
    private readonly host: HTMLElement,
    private readonly model: TraceModel,
  ) {
    this.#box.className = "strip-view";
    host.append(this.#canvas, this.#box);
    const watcher = new ResizeObserver(() => this.#draw());
    watcher.observe(host);
    this.#undo = [() => watcher.disconnect(), model.state.watch(() => this.#place()), watchPalette(() => this.#draw()), this.#followPointer()];
    this.#place();
  }

  show(window: TraceWindow | null): void {
    if (window === this.#window) return;
    this.#window = window;
    this.#draw();
  }

  destroy(): void {
    for (const undo of this.#undo) undo();
    this.host.replaceChildren();
  }

  #place(): void {
    const { view } = this.model.state.value;
    const { whole } = this.model;
    const share = (at_s: number): number => (100 * (at_s - whole.start_s)) / lengthOf(whole);
    this.#box.style.left = `${share(view.start_s)}%`;
    this.#box.style.width = `max(3px, ${share(view.stop_s) - share(view.start_s)}%)`;
  }

  #draw(): void {
    const ratio = devicePixelRatio;
    const [width, height] = [this.host.clientWidth * ratio, this.host.clientHeight * ratio];
    this.#canvas.width = width;
    this.#canvas.height = height;
    const context = this.#canvas.getContext("2d");
    if (!context || !this.#window) return;
    const { start_s, stop_s } = this.model.whole;
    const palette = readPalette();
    const frame = { left: 0, right: width, top: 2 * ratio, bottom: height - 2 * ratio, start_s, stop_s };
    this.#lines(context, frame, palette, ratio);
  }

  /** Medians of the slow phase and the chair, or the eye where nothing else is there; lost stretches. */
  #lines(context: CanvasRenderingContext2D, place: Omit<Frame, "low" | "high">, palette: Palette, ratio: number): void {
    const all = seriesOf(this.model.trial).filter(({ channel }) => channel.plane === null || channel.plane === "horizontal");
    const moves = ({ low, high }: Channel): boolean => (high ?? 0) - (low ?? 0) > STILL_DEG_S;
    const fast = all.filter(({ channel }) => channel.role === "median" || (channel.role === "head" && moves(channel)));
    const shown = fast.length ? fast : all.filter(({ channel }) => channel.role === "position" || channel.role === "eye");
    const ends = shown.flatMap(({ channel }) => [channel.low, channel.high]).filter((end) => end !== null);
    const frame: Frame = { ...place, low: Math.min(-1, ...ends), high: Math.max(1, ...ends) };
    const lost = this.#window ? lostRuns(this.#window, eyesInUse(this.model.trial), frame, 2 * ratio) : [];
    context.fillStyle = palette.shade;
    for (const [from, to] of lost) context.fillRect(from, 0, to - from, frame.bottom + frame.top);
    for (const { channel } of shown) {
      const columns = this.#window?.channels.get(channel.id);
      const colour = channel.role === "head" ? palette.faint : channel.role === "median" ? palette.slow : palette.ink;
      if (columns && this.#window) drawLine(context, this.#window, columns, frame, { colour, width: ratio }, "ordinary");
    }
  }

  /** Drag in the strip for a new view; click to go there. */
  #followPointer(): () => void {
    const stop = new AbortController();
    const { signal } = stop;
    let from: { x: number; at_s: number } | null = null;
    const moment = (event: PointerEvent): number => {
      const { left, width } = this.host.getBoundingClientRect();
      return this.model.whole.start_s + ((event.clientX - left) / width) * lengthOf(this.model.whole);
    };
    const down = (event: PointerEvent): void => {
      if (event.button !== 0) return;
      this.host.setPointerCapture(event.pointerId);
      from = { x: event.clientX, at_s: moment(event) };
    };
    const move = (event: PointerEvent): void => {
      if (from && Math.abs(event.clientX - from.x) > CLICK_PX) this.model.show(ordered(from.at_s, moment(event)));
    };
    const up = (event: PointerEvent): void => {
      if (from && Math.abs(event.clientX - from.x) <= CLICK_PX) this.model.show(centred(this.model.state.value.view, from.at_s));
      from = null;
    };
    this.host.addEventListener("pointerdown", down, { signal });
    this.host.addEventListener("pointermove", move, { signal });
    this.host.addEventListener("pointerup", up, { signal });
    return () => stop.abort();
  }
}
