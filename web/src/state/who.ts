/** Who works here: asked once, before the first change; it goes into every entry of the logs. */
import { keep, kept } from "./kept";
import { Store } from "./store";

const KEY = "who";

export const who = new Store<string>(kept(KEY, ""));
/** Those who wait for the name; the dialog is open while there is one. */
export const whoAsked = new Store<((name: string | null) => void) | null>(null);

export function setWho(name: string): void {
  who.set(name.trim());
  keep(KEY, who.value);
}

/** The name, asked for where it is not known; null where the asking was put off. */
export function needWho(): Promise<string | null> {
  return who.value ? Promise.resolve(who.value) : askWho();
}

export function askWho(): Promise<string | null> {
  whoAsked.value?.(null);
  return new Promise((answer) => {
    whoAsked.set((name) => {
      whoAsked.set(null);
      if (name) setWho(name);
      answer(name);
    });
  });
}
