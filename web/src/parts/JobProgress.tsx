import { useId } from "preact/hooks";
import { fixed } from "../format/number";
import type { RunningJob } from "../state/use_job";
import { t } from "../text/text";
import { Trouble } from "./Trouble";

/** How far a job is, with the way to stop it, and what it failed of. */
export function JobProgress({ running, label, told = true }: { readonly running: RunningJob; readonly label: string; readonly told?: boolean }) {
  const id = useId();
  const { job, error } = running;
  if (!running.running) {
    return job?.state === "cancelled" ? <p class="hint" role="status">{t("job.cancelled")}</p> : <Trouble error={told ? error : null} />;
  }
  const share = job?.share ?? 0;
  return (
    <div class="job">
      <p id={id} role="status">{label} {job?.what}</p>
      <progress aria-labelledby={id} max={1} value={share} /> <span class="n">{t("session.share", { share: fixed(100 * share, 0) })}</span>
      <button type="button" onClick={running.cancel} disabled={!job}>{t("job.cancel")}</button>
    </div>
  );
}
