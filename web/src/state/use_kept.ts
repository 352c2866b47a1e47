/** A value of a form that outlives a reload of the page. */
import { useCallback, useState } from "preact/hooks";
import { keep, kept, letGo } from "./kept";

export function useKept<T>(name: string, start: T): [T, (value: T) => void, () => void] {
  const [at, setAt] = useState(() => ({ name, value: kept(name, start) }));
  const value = at.name === name ? at.value : kept(name, start);
  const set = useCallback(
    (next: T) => {
      keep(name, next);
      setAt({ name, value: next });
    },
    [name],
  );
  const clear = useCallback(() => {
    letGo(name);
    setAt({ name, value: start });
  }, [name]);
  return [value, set, clear];
}
