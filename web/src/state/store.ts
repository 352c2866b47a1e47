/** A value that the page watches. */
import { useEffect, useRef, useState } from "preact/hooks";

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
  return usePart(store, whole);
}

/** A part of the value of a store; the component is drawn again when that part changes. */
export function usePart<T, Part>(store: Store<T>, select: (value: T) => Part): Part {
  const [, draw] = useState(0);
  const seen = useRef(select(store.value));
  seen.current = select(store.value);
  useEffect(() => {
    const look = (): void => {
      if (!Object.is(select(store.value), seen.current)) draw((count) => count + 1);
    };
    look();
    return store.watch(look);
  }, [store]);
  return seen.current;
}

function whole<T>(value: T): T {
  return value;
}
