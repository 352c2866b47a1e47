/** What a screen reader is told without the focus moving. */
import { Store } from "../state/store";

export const said = new Store<{ readonly text: string; readonly number: number }>({ text: "", number: 0 });

export function announce(text: string): void {
  said.update(({ number }) => ({ text, number: number + 1 }));
}
