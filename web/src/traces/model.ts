/** What is shown of one trial and what is chosen in it. No drawing, no server. */
import type { QuickPhase, TrialAnswer, Unused } from "../api/types";
import { Store } from "../state/store";
import { centred, firstAfter, held, lengthOf, middleOf, moved, ordered, type Span, zoomed } from "./span";

export interface TraceState {
  readonly view: Span;
  /** The moment under the cursor, moved by mouse or keys. */
  readonly cursor_s: number;
  /** The chosen interval; one edge alone while the other is not set. */
  readonly chosen: { readonly start_s: number | null; readonly stop_s: number | null };
  /** The chosen quick phase, by its start. */
  readonly beat_s: number | null;
  /** Series that are not drawn. */
  readonly hidden: ReadonlySet<string>;
  /** Factor of the height of position and velocity. */
  readonly taller: number;
  /** What dragging does. */
  readonly drag: "move" | "choose";
}

const LEAST_SAMPLES = 8;
const LEAST_S = 0.02;
const NEAR_PX = 6;
const TALLEST = 64;
const AROUND = 0.3;

export class TraceModel {
  readonly state: Store<TraceState>;

  constructor(
    public trial: TrialAnswer,
    start: Partial<TraceState> = {},
  ) {
    this.state = new Store<TraceState>({
      view: this.whole,
      cursor_s: middleOf(this.whole),
      chosen: { start_s: null, stop_s: null },
      beat_s: null,
      hidden: new Set(),
      taller: 1,
      drag: "move",
      ...start,
    });
  }

  get whole(): Span {
    return { start_s: this.trial.start_s, stop_s: this.trial.stop_s };
  }

  get least_s(): number {
    const hz = this.trial.sampling_hz;
    return hz ? Math.max(LEAST_SAMPLES / hz, LEAST_S) : LEAST_S;
  }

  /** The chosen interval, where both its edges are set and differ. */
  get interval(): Span | null {
    const { start_s, stop_s } = this.state.value.chosen;
    if (start_s === null || stop_s === null || start_s === stop_s) return null;
    return ordered(start_s, stop_s);
  }

  get beat(): QuickPhase | null {
    const at = this.state.value.beat_s;
    return at === null ? null : (this.trial.quick_phases.find((beat) => beat.start_s === at) ?? null);
  }

  /** The trial as it is after an edit; view and choices stay where they still hold. */
  replace(trial: TrialAnswer): void {
    this.trial = trial;
    const { view, cursor_s, beat_s } = this.state.value;
    const known = trial.quick_phases.some((beat) => beat.start_s === beat_s);
    this.#set({ view: held(view, this.whole, this.least_s), cursor_s: this.#inside(cursor_s), beat_s: known ? beat_s : null });
  }

  show(asked: Span): void {
    const view = held(asked, this.whole, this.least_s);
    const before = this.state.value.view;
    if (view.start_s !== before.start_s || view.stop_s !== before.stop_s) this.#set({ view });
  }

  pan(share: number): void {
    const { view } = this.state.value;
    this.show(moved(view, share * lengthOf(view)));
  }

  zoom(factor: number, about_s = this.#zoomCentre()): void {
    const { view } = this.state.value;
    const length = Math.min(Math.max(lengthOf(view) * factor, this.least_s), lengthOf(this.whole));
    this.show(zoomed(view, length / lengthOf(view), about_s));
  }

  showWhole(): void {
    this.show(this.whole);
  }

  toStart(): void {
    this.show(centred(this.state.value.view, this.whole.start_s));
    this.point(this.whole.start_s);
  }

  toEnd(): void {
    this.show(centred(this.state.value.view, this.whole.stop_s));
    this.point(this.whole.stop_s);
  }

  /** Put the cursor somewhere. */
  point(at_s: number): void {
    this.#set({ cursor_s: this.#inside(at_s) });
  }

  /** Move the cursor; the view follows when it would leave it. */
  step(by_s: number): void {
    this.point(this.state.value.cursor_s + by_s);
    this.reveal(this.state.value.cursor_s);
  }

  /** Bring a moment into the view without changing the zoom. */
  reveal(at_s: number): void {
    const { view } = this.state.value;
    if (at_s < view.start_s || at_s > view.stop_s) this.show(centred(view, at_s));
  }

  setEdge(edge: "start" | "stop", at_s: number | null = this.state.value.cursor_s): void {
    const value = at_s === null ? null : this.#inside(at_s);
    const { chosen } = this.state.value;
    this.#set({ chosen: edge === "start" ? { ...chosen, start_s: value } : { ...chosen, stop_s: value } });
  }

  choose(span: Span): void {
    const start_s = this.#inside(span.start_s);
    const stop_s = this.#inside(span.stop_s);
    this.#set({ chosen: ordered(start_s, stop_s) });
  }

  chooseNothing(): void {
    this.#set({ chosen: { start_s: null, stop_s: null }, beat_s: null });
  }

  /** Choose a quick phase and bring it into view. */
  chooseBeat(beat: QuickPhase): void {
    this.#set({ beat_s: beat.start_s });
    this.point((beat.start_s + beat.stop_s) / 2);
    this.reveal(this.state.value.cursor_s);
  }

  /** The quick phase at a moment, or the nearest within a few pixels. */
  beatAt(at_s: number, second_px: number): QuickPhase | null {
    const beats = this.trial.quick_phases;
    const near_s = NEAR_PX / second_px;
    const after = firstAfter(beats, at_s);
    const about = beats.slice(Math.max(after - 2, 0), after + 1);
    const away = (beat: QuickPhase): number => Math.max(beat.start_s - at_s, at_s - beat.stop_s, 0);
    return about.filter((beat) => away(beat) <= near_s).sort((one, other) => away(one) - away(other))[0] ?? null;
  }

  /** Choose the next (1) or previous (-1) quick phase; null where there is none. */
  stepBeat(direction: 1 | -1): QuickPhase | null {
    const found = neighbour(this.trial.quick_phases, this.#from(this.beat), direction);
    if (found) this.chooseBeat(found);
    return found;
  }

  /** Go to the next (1) or previous (-1) stretch that is not used, quick phases apart. */
  stepUnused(direction: 1 | -1): Unused | null {
    const stretches = this.trial.unused.filter((run) => run.reason !== "quick_phase");
    const found = neighbour(stretches, this.state.value.cursor_s, direction);
    if (!found) return null;
    this.#showAround(found);
    this.point(found.start_s);
    return found;
  }

  toggle(series: string): void {
    const hidden = new Set(this.state.value.hidden);
    if (!hidden.delete(series)) hidden.add(series);
    this.#set({ hidden });
  }

  stretch(factor: number): void {
    const taller = Math.min(Math.max(this.state.value.taller * factor, 1 / 8), TALLEST);
    this.#set({ taller });
  }

  dragTo(drag: TraceState["drag"]): void {
    this.#set({ drag });
  }

  #showAround(run: Span): void {
    const { view } = this.state.value;
    if (lengthOf(run) > lengthOf(view)) this.show(zoomed(run, 1 + AROUND, middleOf(run)));
    else this.reveal(run.start_s);
  }

  /** Keys zoom about the cursor while it can be seen. */
  #zoomCentre(): number {
    const { view, cursor_s } = this.state.value;
    return cursor_s >= view.start_s && cursor_s <= view.stop_s ? cursor_s : middleOf(view);
  }

  #from(beat: QuickPhase | null): number {
    return beat ? beat.start_s : this.state.value.cursor_s;
  }

  #inside(at_s: number): number {
    return Math.min(Math.max(at_s, this.whole.start_s), this.whole.stop_s);
  }

  #set(part: Partial<TraceState>): void {
    this.state.update((state) => ({ ...state, ...part }));
  }
}

function neighbour<T extends { readonly start_s: number }>(events: readonly T[], from_s: number, direction: 1 | -1): T | null {
  if (direction === 1) return events[firstAfter(events, from_s)] ?? null;
  let index = firstAfter(events, from_s) - 1;
  while (index >= 0 && (events[index]?.start_s ?? from_s) >= from_s) index -= 1;
  return events[index] ?? null;
}
