/** A stretch of time, and how panning and zooming move it. Pure; seconds on the recording's clock. */
export interface Span {
  readonly start_s: number;
  readonly stop_s: number;
}

export function lengthOf(span: Span): number {
  return span.stop_s - span.start_s;
}

export function middleOf(span: Span): number {
  return (span.start_s + span.stop_s) / 2;
}

/** The same length, moved into the whole; never longer than the whole, never shorter than least. */
export function held(span: Span, whole: Span, least_s: number): Span {
  const most = lengthOf(whole);
  const length = Math.min(Math.max(lengthOf(span), Math.min(least_s, most)), most);
  const middle = middleOf(span);
  const start = Math.min(Math.max(middle - length / 2, whole.start_s), whole.stop_s - length);
  return { start_s: start, stop_s: start + length };
}

export function moved(span: Span, by_s: number): Span {
  return { start_s: span.start_s + by_s, stop_s: span.stop_s + by_s };
}

/** Shorter (factor < 1) or longer, with one moment staying where it is. */
export function zoomed(span: Span, factor: number, about_s: number): Span {
  return {
    start_s: about_s - (about_s - span.start_s) * factor,
    stop_s: about_s + (span.stop_s - about_s) * factor,
  };
}

export function centred(span: Span, at_s: number): Span {
  return moved(span, at_s - middleOf(span));
}

export function contains(outer: Span, inner: Span): boolean {
  const slack = 1e-9 * lengthOf(outer);
  return inner.start_s >= outer.start_s - slack && inner.stop_s <= outer.stop_s + slack;
}

export function ordered(one_s: number, other_s: number): Span {
  return one_s <= other_s ? { start_s: one_s, stop_s: other_s } : { start_s: other_s, stop_s: one_s };
}

/** Index of the first event that begins after a moment; events in order of their start. */
export function firstAfter(starts: readonly { readonly start_s: number }[], at_s: number): number {
  let [low, high] = [0, starts.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((starts[middle]?.start_s ?? Infinity) > at_s) high = middle;
    else low = middle + 1;
  }
  return low;
}
