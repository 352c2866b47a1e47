/** Whether keys without Ctrl act on the traces; those who dictate or tremble can turn them off. */
import { Store } from "./store";

const KEY = "slowphase.single_keys";

export const singleKeys = new Store<boolean>(localStorage.getItem(KEY) !== "off");

export function setSingleKeys(on: boolean): void {
  singleKeys.set(on);
  localStorage.setItem(KEY, on ? "on" : "off");
}
