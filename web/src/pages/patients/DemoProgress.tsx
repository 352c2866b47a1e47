import { useEffect, useState } from "preact/hooks";
import { job as askJob } from "../../api/calls";
import type { Job } from "../../api/types";
import { t } from "../../text/text";

const POLL_MS = 700;

/** The demo patients are being put in: how far that is. */
export function DemoProgress({ job, ended }: { readonly job: string; readonly ended: () => void }) {
  const [state, setState] = useState<Job | null>(null);
  const running = !state || state.state === "waiting" || state.state === "running";
  useEffect(() => {
    if (!running) return;
    const timer = setInterval(() => {
      askJob(job).then((next) => {
        setState(next);
        ended();
      }, () => undefined);
    }, POLL_MS);
    return () => clearInterval(timer);
  }, [job, running]);
  if (!running) return state.error && <p class="trouble" role="alert">{state.error.message}</p>;
  return (
    <p class="waiting" role="status">
      <span id="demo-job">{t("patients.demo_coming", { what: state?.what ?? "" })}</span>{" "}
      <progress aria-labelledby="demo-job" max={1} value={state?.share ?? 0} />
    </p>
  );
}
