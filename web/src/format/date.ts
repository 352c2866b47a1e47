/** Dates and times as the reader writes them. */
import { datesLocale } from "./locale";
import { NONE } from "./number";

/** A day from ``2026-03-02``, without any time zone moving it. */
export function day(iso: string | null | undefined): string {
  if (!iso) return NONE;
  const found = /^(\d{4})-(\d{2})-(\d{2})/.exec(iso);
  if (!found) return iso;
  const date = new Date(Date.UTC(Number(found[1]), Number(found[2]) - 1, Number(found[3])));
  return new Intl.DateTimeFormat(datesLocale(), { dateStyle: "medium", timeZone: "UTC" }).format(date);
}

/** Day and minute on this computer's clock. */
export function moment(iso: string | null | undefined): string {
  if (!iso) return NONE;
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return iso;
  return new Intl.DateTimeFormat(datesLocale(), { dateStyle: "medium", timeStyle: "short" }).format(date);
}

/** Hour and minute. */
export function clock(date: Date): string {
  return new Intl.DateTimeFormat(datesLocale(), { timeStyle: "short" }).format(date);
}
