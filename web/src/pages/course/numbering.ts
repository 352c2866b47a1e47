/** Sessions as a course numbers them: in order of date, from 1. Pure. */
export interface Numbered {
  readonly number: number;
  readonly date: string;
}

/** Those of a course's document where there is one, else the patient's sessions with a date. */
export function numbered(document: unknown, sessions: readonly { readonly date: string | null }[]): Numbered[] {
  const dates = datesOf(document) ?? sessions.map(({ date }) => date).filter((date) => date !== null).sort();
  return dates.map((date, index) => ({ number: index + 1, date }));
}

function datesOf(document: unknown): string[] | null {
  const sessions = (document as { sessions?: { date?: string | null }[] } | null | undefined)?.sessions;
  return Array.isArray(sessions) ? sessions.map(({ date }) => date ?? "") : null;
}

/** What is asked for: two different sessions, the earlier first; null for the usual ones. */
export function between(one: number | null, other: number | null): readonly [number, number] | null {
  if (one === null || other === null || one === other) return null;
  return one < other ? [one, other] : [other, one];
}
