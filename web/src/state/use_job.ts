/** A job of a page: begun by a call, followed until it ends or the page is left. */
import { useEffect, useRef, useState } from "preact/hooks";
import { cancelJob } from "../api/further_calls";
import { Refused } from "../api/errors";
import type { Job } from "../api/types";
import { followJob, hasEnded } from "./job";

export interface RunningJob {
  readonly job: Job | null;
  readonly error: unknown;
  readonly running: boolean;
  readonly begin: (call: () => Promise<Job>) => Promise<Job | null>;
  readonly cancel: () => void;
}

export function useJob(): RunningJob {
  const [state, setState] = useState<{ job: Job | null; error: unknown }>({ job: null, error: null });
  const [beginning, setBeginning] = useState(false);
  const stop = useRef<AbortController | null>(null);
  useEffect(() => () => stop.current?.abort(), []);
  const begin = async (call: () => Promise<Job>): Promise<Job | null> => {
    stop.current?.abort();
    const own = new AbortController();
    stop.current = own;
    setBeginning(true);
    setState({ job: null, error: null });
    try {
      const ended = await followJob(await call(), (job) => own.signal.aborted || setState({ job, error: errorOf(job) }), own.signal);
      return own.signal.aborted ? null : ended;
    } catch (error) {
      if (!own.signal.aborted) setState({ job: null, error });
      return null;
    } finally {
      if (!own.signal.aborted) setBeginning(false);
    }
  };
  const cancel = (): void => {
    if (state.job) cancelJob(state.job.id).catch((error: unknown) => setState((now) => ({ ...now, error })));
  };
  return { ...state, running: beginning || (state.job !== null && !hasEnded(state.job)), begin, cancel };
}

/** What a job failed of, told as any refusal is. */
function errorOf(job: Job): unknown {
  return job.error ? new Refused(422, job.error) : null;
}
