/** Where the page is: the address without a hash, and how it changes. */
import { Store } from "../state/store";

export interface Place {
  readonly path: string;
  readonly query: URLSearchParams;
}

export const place = new Store<Place>(here());

/** Keepers of unsaved work may stop a change of place; each returns whether to go on. */
const guards = new Set<() => boolean>();

export function guard(mayGo: () => boolean): () => void {
  guards.add(mayGo);
  return () => guards.delete(mayGo);
}

export function go(address: string, { replace = false } = {}): void {
  if (![...guards].every((mayGo) => mayGo())) return;
  const samePath = new URL(address, location.href).pathname === location.pathname;
  history[replace ? "replaceState" : "pushState"](null, "", address);
  place.set(here());
  if (!samePath) scrollTo(0, 0);
}

export function followHistory(): void {
  addEventListener("popstate", () => place.set(here()));
}

/** A click that should stay in the page: plain left button, this origin, no other target. */
export function isOurs(event: MouseEvent): boolean {
  return event.button === 0 && !event.defaultPrevented && !(event.metaKey || event.ctrlKey || event.shiftKey || event.altKey);
}

function here(): Place {
  return { path: location.pathname, query: new URLSearchParams(location.search) };
}
