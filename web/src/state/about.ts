/** The server's own words: labels, reasons, kinds, limits. */
import { about as readAbout } from "../api/calls";
import type { About } from "../api/types";
import { Store } from "./store";

export const about = new Store<About | null>(null);

export async function loadAbout(): Promise<void> {
  about.set(await readAbout());
}

/** A word of the server's tables; the code itself, readable, where there is none. */
export function word(table: string, code: string): string {
  const found: unknown = about.value?.words[table]?.[code];
  return typeof found === "string" ? found : code.replaceAll("_", " ");
}

/** The sentence of a reason, and what the reason does to a number. */
export function reason(code: string): { text: string; effect: string } {
  return about.value?.reasons[code] ?? { text: code.replaceAll("_", " "), effect: "" };
}
