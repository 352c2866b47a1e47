/** The session of a page: read when the page opens, shown at once where it is known. */
import { useEffect } from "preact/hooks";
import type { Document, SessionAnswer } from "../api/types";
import { connection } from "../api/connection";
import { deskOf, type SessionDesk, type SessionView } from "./session";
import { useStore } from "./store";

export interface OpenSession {
  readonly desk: SessionDesk;
  readonly view: SessionView;
}

export interface Ready {
  readonly desk: SessionDesk;
  readonly view: SessionView;
  readonly answer: SessionAnswer;
  readonly document: Document;
}

export function useSession(id: string): OpenSession {
  const desk = deskOf(id);
  const view = useStore(desk.view);
  const state = useStore(connection);
  useEffect(() => {
    if (state === "fine") void desk.load();
  }, [desk, state]);
  return { desk, view };
}
