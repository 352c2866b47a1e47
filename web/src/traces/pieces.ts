/** Pieces of a window cut out and laid over one another; only for drawing. */
import type { Span } from "./span";
import type { TraceWindow } from "./window_format";

export interface Piece {
  readonly x: number[];
  readonly y: (number | null)[];
}

/** One channel between two moments: the middle of what each column spans, null where nothing is. */
export function pieceOf(window: TraceWindow, channel: string, span: Span, place: (at_s: number) => number, factor = 1): Piece {
  const columns = window.channels.get(channel);
  const from = Math.max(Math.ceil((span.start_s - window.start_s) / window.step_s), 0);
  const to = Math.min(Math.floor((span.stop_s - window.start_s) / window.step_s), window.columns - 1);
  const piece: Piece = { x: [], y: [] };
  for (let index = from; columns && index <= to; index += 1) {
    const [low, high] = [columns.low[index] ?? NaN, columns.high[index] ?? NaN];
    piece.x.push(place(window.start_s + index * window.step_s));
    piece.y.push(Number.isNaN(low) ? null : (factor * (low + high)) / 2);
  }
  return piece;
}
