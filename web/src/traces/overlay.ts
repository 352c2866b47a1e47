/** What lies over the panels and moves with every pointer: cursor, chosen interval, chosen quick phase. */
import { lengthOf, type Span } from "./span";
import type { TraceModel } from "./model";

export class Overlay {
  readonly #cursor = piece("trace-cursor");
  readonly #interval = piece("trace-interval");
  readonly #from = piece("trace-edge");
  readonly #to = piece("trace-edge");
  readonly #beat = piece("trace-beat");

  constructor(readonly layer: HTMLElement) {
    layer.append(this.#interval, this.#beat, this.#from, this.#to, this.#cursor);
  }

  /** Put everything where it is in the view now. */
  place(model: TraceModel): void {
    const { view, cursor_s, chosen } = model.state.value;
    this.#line(this.#cursor, cursor_s, view);
    this.#line(this.#from, chosen.start_s, view);
    this.#line(this.#to, chosen.stop_s, view);
    this.#span(this.#interval, model.interval, view);
    this.#span(this.#beat, model.beat, view);
  }

  #line(line: HTMLElement, at_s: number | null, view: Span): void {
    line.hidden = at_s === null || at_s < view.start_s || at_s > view.stop_s;
    if (at_s !== null) line.style.transform = `translateX(${this.#x(at_s, view)}px)`;
  }

  #span(box: HTMLElement, span: Span | null, view: Span): void {
    box.hidden = !span || span.stop_s < view.start_s || span.start_s > view.stop_s;
    if (!span || box.hidden) return;
    const from = Math.max(this.#x(span.start_s, view), -2);
    const to = Math.min(this.#x(span.stop_s, view), this.layer.clientWidth + 2);
    box.style.left = `${from}px`;
    box.style.width = `${Math.max(to - from, 2)}px`;
  }

  #x(at_s: number, view: Span): number {
    return ((at_s - view.start_s) / lengthOf(view)) * this.layer.clientWidth;
  }
}

function piece(name: string): HTMLElement {
  const element = document.createElement("div");
  element.className = name;
  element.hidden = true;
  return element;
}
