/** The trial of a page, read again whenever an edit touched its traces. */
import { useEffect, useState } from "preact/hooks";
import { readTrial } from "../../api/calls";
import { connection } from "../../api/connection";
import type { TrialAnswer } from "../../api/types";
import type { Change } from "../../state/session";
import { useStore } from "../../state/store";

interface TrialState {
  readonly trial: TrialAnswer | null;
  readonly error: unknown;
}

export function useTrial(session: string, id: string, change: Change | null): TrialState {
  const [state, setState] = useState<TrialState & { readonly of: string }>({ trial: null, error: null, of: "" });
  const connected = useStore(connection);
  const touched = change?.answer.trials.includes(id) ? change.number : 0;
  const of = `${session}/${id}`;
  useEffect(() => {
    let closed = false;
    readTrial(session, id).then(
      (trial) => {
        if (!closed) setState((before) => ({ trial: sameTraces(before.trial, trial) ? before.trial : trial, error: null, of }));
      },
      (error: unknown) => {
        if (!closed) setState((before) => ({ ...before, error, of }));
      },
    );
    return () => {
      closed = true;
    };
  }, [of, touched, connected]);
  return state.of === of ? state : { trial: null, error: null };
}

/** Nothing is drawn anew where nothing changed. */
function sameTraces(before: TrialAnswer | null, now: TrialAnswer): boolean {
  return before !== null && before.id === now.id && before.traces === now.traces;
}
