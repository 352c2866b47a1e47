/** One window of a whole trial, for views that lay pieces of it over one another. */
import { useEffect, useState } from "preact/hooks";
import { readTrial, readWindow } from "../../api/calls";
import type { TrialAnswer } from "../../api/types";
import { COLUMNS_MOST } from "../../traces/window_plan";
import { decodeWindow, type TraceWindow } from "../../traces/window_format";

export interface Whole {
  readonly trial: TrialAnswer;
  readonly window: TraceWindow;
}

interface Read {
  readonly wholes: readonly Whole[] | null;
  readonly error: unknown;
}

/** Slow phase by its medians, fit and head of some trials; read again when `state` changes. */
export function useWholes(session: string, ids: readonly string[], state: string): Read {
  const [read, setRead] = useState<Read>({ wholes: null, error: null });
  useEffect(() => {
    let closed = false;
    Promise.all(ids.map((id) => wholeOf(session, id))).then(
      (found) => {
        if (!closed) setRead({ wholes: found.filter((one) => one !== null), error: null });
      },
      (error: unknown) => {
        if (!closed) setRead({ wholes: null, error });
      },
    );
    return () => {
      closed = true;
    };
  }, [session, ids.join("\n"), state]);
  return read;
}

async function wholeOf(session: string, id: string): Promise<Whole | null> {
  const trial = await readTrial(session, id);
  const channels = trial.channels
    .filter((channel) => ["median", "fit", "head"].includes(channel.role) && channel.plane !== "vertical")
    .map((channel) => channel.id);
  if (!channels.length) return null;
  const { start_s, stop_s } = trial;
  return { trial, window: decodeWindow(await readWindow(session, id, { channels, start_s, stop_s, columns: COLUMNS_MOST })) };
}

/** The horizontal channel of a role. */
export function channelOf(trial: TrialAnswer, role: string): string | undefined {
  return trial.channels.find((channel) => channel.role === role && channel.plane !== "vertical")?.id;
}
