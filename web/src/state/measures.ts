/** Every measure of a document by its id, and the trials that it comes from. */
import type { Document, Measure } from "../api/types";

export interface Placed {
  readonly measure: Measure;
  readonly trials: readonly string[];
}

const indexed = new WeakMap<Document, ReadonlyMap<string, Placed>>();

export function measuresOf(document: Document): ReadonlyMap<string, Placed> {
  let index = indexed.get(document);
  if (!index) {
    index = new Map(allPlaced(document).map((placed) => [placed.measure.id, placed]));
    indexed.set(document, index);
  }
  return index;
}

function allPlaced(document: Document): Placed[] {
  const place = (measures: readonly Measure[], trials: readonly string[]): Placed[] =>
    measures.map((measure) => ({ measure, trials }));
  return [
    ...document.trials.flatMap((trial) => place(trial.measures, [trial.id])),
    ...document.pairs.flatMap((pair) => place(pair.measures, [pair.dark, pair.fixation])),
    ...document.groups.flatMap((group) => place(group.measures, group.trials)),
  ];
}

/** Pairs and groups that a trial takes part in, with a title of the other trials. */
export function together(document: Document, trial: string): { kind: string; others: string[]; measures: Measure[] }[] {
  const pairs = document.pairs
    .filter((pair) => pair.dark === trial || pair.fixation === trial)
    .map((pair) => ({ kind: pair.kind, others: [pair.dark === trial ? pair.fixation : pair.dark], measures: pair.measures }));
  const groups = document.groups
    .filter((group) => group.trials.includes(trial))
    .map((group) => ({ kind: group.kind, others: group.trials.filter((id) => id !== trial), measures: group.measures }));
  return [...pairs, ...groups];
}
