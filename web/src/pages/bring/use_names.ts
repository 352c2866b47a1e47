/** The names of the imports that wait, asked for one after the other. */
import { useEffect, useState } from "preact/hooks";
import { readImport } from "../../api/further_calls";
import type { ImportWaiting } from "../../api/further_types";
import { importName } from "./naming";

export type Names = ReadonlyMap<string, string>;

/** By id; one that cannot be read keeps its id, and opening it says why. */
export function useNames(waiting: readonly ImportWaiting[]): Names {
  const [names, setNames] = useState<Names>(new Map());
  useEffect(() => {
    let closed = false;
    const ask = async (): Promise<void> => {
      for (const { id, files } of waiting) {
        if (closed) return;
        const name = files ? await readImport(id).then(importName, () => "") : "";
        if (!closed && name) setNames((known) => new Map([...known, [id, name]]));
      }
    };
    void ask();
    return () => {
      closed = true;
    };
  }, [waiting]);
  return names;
}
