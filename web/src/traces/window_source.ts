/** Windows of one trial: what is at hand is drawn at once, what is better comes when it comes. */
import { isGivenUp } from "../api/errors";
import type { Span } from "./span";
import { decodeWindow, type TraceWindow } from "./window_format";
import { bestOf, serves, type Wish, wishFor } from "./window_plan";

export type Fetch = (wish: Wish, signal: AbortSignal) => Promise<ArrayBuffer>;

const KEPT = 12;
const RETRY_MS = 1500;

export class WindowSource {
  #windows: TraceWindow[] = [];
  #base: TraceWindow | null = null;
  #running: { wish: Wish; stop: AbortController } | null = null;
  #next: Wish | null = null;
  /** Asked and answered: once more would bring the same. */
  #answered: Wish[] = [];
  #closed = false;

  /** `arrived` is called when something better can be drawn, `failed` when the server refuses. */
  constructor(
    readonly whole: Span,
    private readonly fetch: Fetch,
    private readonly arrived: () => void,
    private readonly failed: (error: unknown) => void,
  ) {}

  /** The best that is at hand for a view; what is missing is asked for meanwhile. */
  at(view: Span, width_px: number): TraceWindow | null {
    const best = bestOf(this.#all(), view, width_px);
    if (!best || !serves(best, view, this.whole, width_px)) this.#ask(wishFor(view, this.whole, width_px));
    else this.#next = null;
    return best;
  }

  /** The whole recording, coarse: the first thing that is there. */
  get base(): TraceWindow | null {
    return this.#base;
  }

  close(): void {
    this.#closed = true;
    this.#running?.stop.abort();
  }

  #all(): TraceWindow[] {
    return this.#base ? [...this.#windows, this.#base] : this.#windows;
  }

  /** One call at a time; of those that wait only the last is still wanted. */
  #ask(wish: Wish): void {
    const known = this.#running ? [this.#running.wish, ...this.#answered] : this.#answered;
    if (this.#closed || known.some((one) => same(one, wish))) return;
    if (this.#running) this.#next = wish;
    else void this.#run(wish);
  }

  async #run(wish: Wish): Promise<void> {
    const stop = new AbortController();
    this.#running = { wish, stop };
    try {
      this.#keep(decodeWindow(await this.fetch(wish, stop.signal)));
      this.#answered = [wish, ...this.#answered].slice(0, KEPT);
      this.#running = null;
    } catch (error) {
      if (isGivenUp(error) || this.#closed) return;
      this.failed(error);
      await new Promise((wake) => setTimeout(wake, RETRY_MS));
      this.#running = null;
    }
    if (this.#closed) return;
    const next = this.#next;
    this.#next = null;
    this.arrived();
    if (next && !this.#running) void this.#run(next);
  }

  #keep(window: TraceWindow): void {
    this.#base ??= window;
    this.#windows = [window, ...this.#windows].slice(0, KEPT);
  }
}

function same(one: Wish, other: Wish): boolean {
  return one.start_s === other.start_s && one.stop_s === other.stop_s && one.columns === other.columns;
}
