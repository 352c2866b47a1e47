import type { Statement } from "../api/types";

/** Urgent ones first, then what holds, what cannot be told, what does not hold; else as they were read. */
export function inOrder<T extends { readonly statement: Statement }>(all: readonly T[]): T[] {
  const rank = ({ statement }: T): number => {
    const verdict = ["holds", "cannot_tell", "does_not_hold"].indexOf(statement.verdict);
    return statement.urgent ? -1 : verdict;
  };
  return [...all].sort((one, other) => rank(one) - rank(other));
}
