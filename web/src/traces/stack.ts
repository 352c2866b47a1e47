/** The stacked panels of one trial: they share time, and are drawn together, once a frame at most. */
import type { TrialAnswer } from "../api/types";
import { clipTo, Panel, type PanelSize, RIGHT_EDGE } from "./panel";
import { drawLine, type Frame, lostRuns, spanRuns } from "./envelope";
import { drawLanes, type Lane, lanesOf } from "./lanes";
import type { TraceModel } from "./model";
import { Overlay } from "./overlay";
import { type Palette, readPalette, watchPalette } from "./palette";
import { followPointer } from "./pointer";
import { panelsOf, type Range, rangeOf } from "./ranges";
import { type PanelName, type Series, seriesOf, strokeOf } from "./series";
import type { TraceWindow } from "./window_format";
import { type Fetch, WindowSource } from "./window_source";

export interface StackParts {
  /** Where each panel goes. */
  readonly hosts: Readonly<Partial<Record<PanelName | "lanes", HTMLElement>>>;
  /** The layer over the plotting areas of all panels. */
  readonly layer: HTMLElement;
  readonly fetch: Fetch;
  /** The window that is drawn, and that of the whole recording, after each frame. */
  readonly drawn: (window: TraceWindow | null, base: TraceWindow | null) => void;
  readonly failed: (error: unknown) => void;
}

const LANES_RANGE: Range = [0, 1];
const GUTTER_REM = 6;
const TIME_AXIS_REM = 1.7;

function rem(): number {
  return Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
}

export class TraceStack {
  readonly #source: WindowSource;
  readonly #overlay: Overlay;
  readonly #undo: (() => void)[] = [];
  readonly #trial: TrialAnswer;
  readonly #series: readonly Series[];
  readonly #lanes: readonly Lane[];
  #panels = new Map<PanelName | "lanes", Panel>();
  #palette: Palette = readPalette();
  #window: TraceWindow | null = null;
  #frame = 0;
  #ranges: { readonly of: unknown[]; readonly by: Map<PanelName, Range> } = { of: [], by: new Map() };
  #drawn: unknown[] = [];

  constructor(
    private readonly model: TraceModel,
    private readonly parts: StackParts,
  ) {
    this.#trial = model.trial;
    this.#series = seriesOf(model.trial);
    this.#lanes = lanesOf(model.trial);
    this.#source = new WindowSource(model.whole, parts.fetch, () => this.invalidate(), parts.failed);
    this.#overlay = new Overlay(parts.layer);
    this.#placeLayer();
    this.#build();
    this.#undo.push(model.state.watch(() => this.invalidate()), followPointer(parts.layer, model), watchPalette(() => this.#rebuild()), this.#watchSize());
    this.invalidate();
  }

  /** Ask for a frame; many calls before it make one. */
  invalidate(): void {
    if (!this.#frame) this.#frame = requestAnimationFrame(() => this.#draw());
  }

  destroy(): void {
    cancelAnimationFrame(this.#frame);
    this.#source.close();
    for (const undo of this.#undo) undo();
    for (const panel of this.#panels.values()) panel.destroy();
    this.parts.layer.replaceChildren();
  }

  #draw(): void {
    this.#frame = 0;
    const { view, taller, hidden } = this.model.state.value;
    this.#overlay.place(this.model);
    this.#window = this.#source.at(view, this.parts.layer.clientWidth);
    if (!this.#isNew([view, taller, hidden, this.#window, this.#panels])) return;
    for (const [name, panel] of this.#panels) panel.show(view, this.#range(name));
    this.parts.drawn(this.#window, this.#source.base);
  }

  /** Whether anything but the cursor has moved since the last frame. */
  #isNew(drawn: unknown[]): boolean {
    const before = this.#drawn;
    this.#drawn = drawn;
    return drawn.some((part, index) => part !== before[index]);
  }

  #range(name: PanelName | "lanes"): Range {
    if (name === "lanes") return LANES_RANGE;
    const { taller, hidden } = this.model.state.value;
    const of = [this.#source.base, hidden, taller];
    if (of.some((part, index) => part !== this.#ranges.of[index])) this.#ranges = { of, by: new Map() };
    const known = this.#ranges.by.get(name) ?? rangeOf(name, this.#shown(), this.#source.base, taller);
    this.#ranges.by.set(name, known);
    return known;
  }

  #shown(): readonly Series[] {
    const { hidden } = this.model.state.value;
    return this.#series.filter(({ channel }) => !hidden.has(channel.id));
  }

  #build(): void {
    for (const name of [...panelsOf(this.#trial), "lanes"] as const) {
      const host = this.parts.hosts[name];
      if (host) this.#panels.set(name, this.#panel(name, host));
    }
  }

  #panel(name: PanelName | "lanes", host: HTMLElement): Panel {
    const { view } = this.model.state.value;
    return new Panel(host, this.#palette, this.#sizeOf(name, host), view, this.#range(name), (context, frame, ratio) => this.#paint(name, context, frame, ratio), name !== "lanes");
  }

  #sizeOf(name: PanelName | "lanes", host: HTMLElement): PanelSize {
    const timeAxis = name === "lanes" ? Math.round(TIME_AXIS_REM * rem()) : 0;
    return { width: host.clientWidth, height: host.clientHeight, gutter: Math.round(GUTTER_REM * rem()), timeAxis };
  }

  /** The layer lies over the plotting areas alone. */
  #placeLayer(): void {
    this.parts.layer.style.left = `${Math.round(GUTTER_REM * rem())}px`;
    this.parts.layer.style.right = `${RIGHT_EDGE}px`;
    this.parts.layer.style.bottom = `${Math.round(TIME_AXIS_REM * rem())}px`;
  }

  #paint(name: PanelName | "lanes", context: CanvasRenderingContext2D, frame: Frame, ratio: number): void {
    if (name === "lanes") return drawLanes(context, frame, ratio, this.#lanes, this.#window, this.#palette);
    clipTo(context, frame);
    this.#shade(context, frame, ratio);
    this.#zero(context, frame, ratio);
    if (!this.#window) return;
    for (const { channel, panel, tellsLost } of this.#shown()) {
      const columns = panel === name ? this.#window.channels.get(channel.id) : undefined;
      if (!columns) continue;
      const stroke = strokeOf(channel, this.#palette);
      const scaled = { ...stroke, width: stroke.width * ratio, dash: (stroke.dash ?? []).map((part) => part * ratio) };
      drawLine(context, this.#window, columns, frame, scaled, tellsLost ? "lost" : "ordinary");
    }
  }

  /** Lost and excluded stretches behind the lines, at every zoom. */
  #shade(context: CanvasRenderingContext2D, frame: Frame, ratio: number): void {
    const { excluded } = this.#trial.by_hand;
    const lost = this.#lanes.find((lane) => lane.lostIn);
    context.fillStyle = this.#palette.shade;
    for (const [from, to] of spanRuns([...(lost?.runs ?? []), ...excluded], frame, 2 * ratio)) this.#bar(context, frame, from, to);
    if (!this.#window || !lost?.lostIn) return;
    for (const [from, to] of lostRuns(this.#window, lost.lostIn, frame, 2 * ratio)) this.#bar(context, frame, from, to);
  }

  #bar(context: CanvasRenderingContext2D, frame: Frame, from: number, to: number): void {
    context.fillRect(from, frame.top, to - from, frame.bottom - frame.top);
  }

  #zero(context: CanvasRenderingContext2D, frame: Frame, ratio: number): void {
    const y = frame.bottom + (frame.low * (frame.bottom - frame.top)) / (frame.high - frame.low);
    context.fillStyle = this.#palette.rule;
    context.fillRect(frame.left, Math.round(y), frame.right - frame.left, Math.max(1, ratio));
  }

  #watchSize(): () => void {
    const watcher = new ResizeObserver(() => {
      for (const [name, panel] of this.#panels) {
        const host = this.parts.hosts[name];
        if (host) panel.resize(host.clientWidth, host.clientHeight);
      }
      this.#drawn = [];
      this.invalidate();
    });
    for (const host of Object.values(this.parts.hosts)) watcher.observe(host);
    return () => watcher.disconnect();
  }

  #rebuild(): void {
    this.#palette = readPalette();
    this.#placeLayer();
    for (const panel of this.#panels.values()) panel.destroy();
    this.#panels = new Map();
    this.#build();
    this.invalidate();
  }
}
