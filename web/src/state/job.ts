/** Work of the server that takes longer than an answer may: followed until it ends. */
import { job as askJob } from "../api/calls";
import { Lost } from "../api/errors";
import type { Job } from "../api/types";

const POLL_MS = 300;

export function hasEnded({ state }: Job): boolean {
  return state !== "waiting" && state !== "running";
}

/** Tell how far it is until it has ended; a server that does not answer is asked again. */
export async function followJob(begun: Job, tell: (job: Job) => void, stop?: AbortSignal): Promise<Job> {
  let job = begun;
  for (;;) {
    if (stop?.aborted) return job;
    tell(job);
    if (hasEnded(job)) return job;
    await new Promise((wake) => setTimeout(wake, POLL_MS));
    job = await asked(job);
  }
}

async function asked(before: Job): Promise<Job> {
  try {
    return await askJob(before.id);
  } catch (error) {
    if (error instanceof Lost) return before;
    throw error;
  }
}
