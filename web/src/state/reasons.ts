/** Reasons that were given in this tab, the last first. */
import { keep, kept } from "./kept";

const NAME = "reasons";
const MOST = 8;

export function rememberedReasons(): string[] {
  return kept<string[]>(NAME, []);
}

export function rememberReason(text: string): void {
  const others = rememberedReasons().filter((one) => one !== text);
  keep(NAME, [text.trim(), ...others].slice(0, MOST));
}
