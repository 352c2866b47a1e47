/** What may go wrong between page and server. */
import type { components } from "./schema";

export type ErrorBody = components["schemas"]["ErrorBody"];

/** The server answered that it cannot. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly body: ErrorBody,
  ) {
    super(body.message);
    this.name = "Refused";
  }

  get isConflict(): boolean {
    return this.status === 409;
  }
}

/** No answer: the server was stopped, or is not there yet. */
export class Lost extends Error {
  constructor(cause: unknown) {
    super("no answer", { cause });
    this.name = "Lost";
  }
}

/** A call that was given up because it is no longer needed. */
export function isGivenUp(error: unknown): boolean {
  return error instanceof DOMException && error.name === "AbortError";
}
