/** How numbers and dates are written: as the system says, or as chosen. Kept in this browser. */
import { Store } from "../state/store";

export interface Writing {
  /** A BCP 47 tag, or "system". */
  readonly numbers: string;
  readonly dates: string;
}

/** Choices of the decimal mark and of the order of a date; each names a locale that writes so. */
export const NUMBER_CHOICES = ["system", "en-GB", "de-DE"] as const;
export const DATE_CHOICES = ["system", "en-GB", "sv-SE", "en-US", "de-DE"] as const;

const KEY = "slowphase.writing";
const SYSTEM: Writing = { numbers: "system", dates: "system" };

export const writing = new Store<Writing>(remembered());

export function chooseWriting(next: Writing): void {
  writing.set(next);
  globalThis.localStorage?.setItem(KEY, JSON.stringify(next));
}

export function numbersLocale(): string | undefined {
  return tag(writing.value.numbers);
}

export function datesLocale(): string | undefined {
  return tag(writing.value.dates);
}

function tag(chosen: string): string | undefined {
  return chosen === "system" ? undefined : chosen;
}

function remembered(): Writing {
  try {
    const kept = JSON.parse(globalThis.localStorage?.getItem(KEY) ?? "null") as Partial<Writing> | null;
    return {
      numbers: known(NUMBER_CHOICES, kept?.numbers),
      dates: known(DATE_CHOICES, kept?.dates),
    };
  } catch {
    return SYSTEM;
  }
}

function known(choices: readonly string[], value: unknown): string {
  return typeof value === "string" && choices.includes(value) ? value : "system";
}
