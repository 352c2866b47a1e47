import { useState } from "preact/hooks";
import { addReference, buildIntervals, type IntervalsWish } from "../../api/further_calls";
import { announce } from "../../app/announce";
import { FaultList } from "../../parts/FaultList";
import { Field } from "../../parts/Field";
import { JobProgress } from "../../parts/JobProgress";
import { PageFrame } from "../../parts/PageFrame";
import { saveFile } from "../../parts/save_file";
import { TickSessions } from "../../parts/TickSessions";
import { useJob } from "../../state/use_job";
import { needWho } from "../../state/who";
import { t } from "../../text/text";
import type { ChangesProps } from "./OrderPart";

const ID = /^[a-z0-9][a-z0-9-]{0,63}$/;
const AGES = ["auto", "always", "never"] as const;
const START: IntervalsWish = { set_id: "", sessions: [], without_outliers: false, apart: false, by_age: "auto" };

/** The clinic's own intervals, made of healthy sessions of the store. */
export function IntervalsPart({ changed }: Pick<ChangesProps, "changed">) {
  const [wish, setWish] = useState(START);
  const [error, setError] = useState<unknown>(null);
  const running = useJob();
  const set = (part: Partial<IntervalsWish>): void => setWish({ ...wish, ...part });
  const named = ID.test(wish.set_id);
  const made = running.job?.state === "done" ? (running.job.result as { name: string; text: string; page: string }) : null;
  const build = (event: Event): void => {
    event.preventDefault();
    setError(null);
    void running.begin(() => buildIntervals(wish));
  };
  const add = async (): Promise<void> => {
    const by = await needWho();
    if (by === null || !made) return;
    addReference(made.name, made.text, by).then((next) => {
      announce(t("add.done"));
      setError(null);
      changed(next);
    }, setError);
  };
  return (
    <section class="sheet" aria-labelledby="intervals">
      <h2 id="intervals">{t("intervals.title")}</h2>
      <p class="hint">{t("intervals.hint")}</p>
      <div class={made ? "intervals made" : "intervals"}>
      <form onSubmit={build}>
        <Field label={t("intervals.id")} hint={t("intervals.id_hint")} error={wish.set_id && !named ? t("intervals.id_wrong") : undefined}>
          {(ids) => <input {...ids} type="text" autocomplete="off" value={wish.set_id} onInput={(event) => set({ set_id: event.currentTarget.value })} />}
        </Field>
        <TickSessions label={t("intervals.sessions")} ticked={wish.sessions} onTick={(sessions) => set({ sessions })} />
        <label class="check-line"><input type="checkbox" checked={wish.without_outliers} onChange={(event) => set({ without_outliers: event.currentTarget.checked })} />{t("intervals.outliers")}</label>
        <label class="check-line"><input type="checkbox" checked={wish.apart} onChange={(event) => set({ apart: event.currentTarget.checked })} />{t("intervals.apart")}</label>
        <Field label={t("intervals.by_age")}>
          {(ids) => (
            <select {...ids} value={wish.by_age} onChange={(event) => set({ by_age: event.currentTarget.value as IntervalsWish["by_age"] })}>
              {AGES.map((age) => <option key={age} value={age}>{t(`intervals.age_${age}`)}</option>)}
            </select>
          )}
        </Field>
        <JobProgress running={running} label={t("intervals.making")} told={false} />
        <FaultList error={running.error ?? error} />
        <button type="submit" class="main" disabled={!named || !wish.sessions.length || running.running}>{t("intervals.build")}</button>
      </form>
      {made && (
        <div>
          <p class="actions">
            <button type="button" onClick={() => saveFile(new Blob([made.text], { type: "application/toml" }), made.name)}>{t("intervals.download", { name: made.name })}</button>
            <button type="button" class="main" onClick={() => void add()}>{t("intervals.add")}</button>
          </p>
          <PageFrame page={made.page} title={t("intervals.page")} />
        </div>
      )}
      </div>
    </section>
  );
}
