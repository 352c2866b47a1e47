/** A value that the page watches. */
import { useEffect, useState } from "preact/hooks";

export class Store<T> {
  #value: T;
  readonly #watchers = new Set<(value: T) => void>();

  constructor(value: T) {
    this.#value = value;
  }

  get value(): T {
    return this.#value;
  }

  set(value: T): void {
    if (Object.is(value, this.#value)) return;
    this.#value = value;
    for (const watcher of [...this.#watchers]) watcher(value);
  }

  update(change: (value: T) => T): void {
    this.set(change(this.#value));
  }

  watch(watcher: (value: T) => void): () => void {
    this.#watchers.add(watcher);
    return () => this.#watchers.delete(watcher);
  }
}

/** The value of a store; the component is drawn again when it changes. */
export function useStore<T>(store: Store<T>): T {
  const [, draw] = useState(0);
  useEffect(() => {
    let seen = store.value;
    const unwatch = store.watch((value) => {
      if (Object.is(value, seen)) return;
      seen = value;
      draw((count) => count + 1);
    });
    draw((count) => count + 1);
    return unwatch;
  }, [store]);
  return store.value;
}
