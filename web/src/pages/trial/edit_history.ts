/** What became of an edit: entries that take it back, and entries that take those back. */
import type { EditEntry } from "../../api/types";

export interface Turn {
  readonly entry: EditEntry;
  /** It takes the edit back; else it brings it back. */
  readonly undoes: boolean;
}

export function historyOf(edit: EditEntry, log: readonly EditEntry[]): Turn[] {
  const turns = new Map<number, boolean>([[edit.id, false]]);
  const found: Turn[] = [];
  for (const entry of log) {
    const restores = entry.kind === "take_back" ? turns.get(Number(entry.values["of"])) : undefined;
    if (restores === undefined) continue;
    turns.set(entry.id, !restores);
    found.push({ entry, undoes: !restores });
  }
  return found;
}
