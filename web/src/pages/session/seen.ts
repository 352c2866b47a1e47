import type { Document } from "../../api/types";

/** What every section of a session's pages is given. */
export interface Seen {
  readonly session: string;
  readonly document: Document;
}
