import { useEffect, useState } from "preact/hooks";
import { readEvents, writeEvents } from "../../api/further_calls";
import type { CourseEvent } from "../../api/further_types";
import { announce } from "../../app/announce";
import { day } from "../../format/date";
import { FaultList } from "../../parts/FaultList";
import { Field } from "../../parts/Field";
import { useKept } from "../../state/use_kept";
import { needWho } from "../../state/who";
import { t } from "../../text/text";

const KINDS = ["dose", "treatment", "onset", "procedure", "exercise", "other"] as const;
type Form = { readonly date: string; readonly label: string; readonly kind: (typeof KINDS)[number]; readonly at: number | null };
const EMPTY: Form = { date: "", label: "", kind: "dose", at: null };

interface EventsPartProps {
  readonly patient: string;
  readonly changed: () => void;
}

/** Doses, treatments and onsets on the axis of time; each change is saved at once. */
export function EventsPart({ patient, changed }: EventsPartProps) {
  const [events, setEvents] = useState<readonly CourseEvent[]>([]);
  const [form, setForm, clear] = useKept<Form>(`event.${patient}`, EMPTY);
  const [error, setError] = useState<unknown>(null);
  useEffect(() => void readEvents(patient).then((answer) => setEvents(answer.events), setError), [patient]);
  const save = async (next: readonly CourseEvent[], said: string): Promise<void> => {
    const by = await needWho();
    if (by === null) return;
    try {
      setEvents((await writeEvents(patient, next, by)).events);
      setError(null);
      clear();
      announce(said);
      changed();
    } catch (failure) {
      setError(failure);
    }
  };
  const submit = (event: Event): void => {
    event.preventDefault();
    const { at, ...made } = form;
    const next = at === null ? [...events, made] : events.map((one, index) => (index === at ? made : one));
    void save(next, t("events.saved"));
  };
  return (
    <section class="sheet events" aria-labelledby="events">
      <h2 id="events">{t("events.title")}</h2>
      {!events.length && <p class="nothing">{t("events.none")}</p>}
      <ul class="plain">
        {events.map((one, index) => (
          <li key={index}>
            <strong>{day(one.date)}</strong> {one.label} <span class="hint">{t(`event_kind.${one.kind ?? "other"}`)}</span>{" "}
            <button type="button" class="quiet" aria-label={t("events.change_this", { label: one.label })} onClick={() => setForm({ date: one.date, label: one.label, kind: one.kind ?? "other", at: index })}>{t("events.change")}</button>
            <button type="button" class="quiet" aria-label={t("events.remove_this", { label: one.label })} onClick={() => void save(events.filter((_, at) => at !== index), t("events.removed"))}>{t("events.remove")}</button>
          </li>
        ))}
      </ul>
      <form onSubmit={submit} aria-label={t(form.at === null ? "events.add" : "events.change_form")}>
        <div class="fields">
          <Field label={t("events.date")}>{(ids) => <input {...ids} type="date" required value={form.date} onInput={(event) => setForm({ ...form, date: event.currentTarget.value })} />}</Field>
          <Field label={t("events.kind")}>
            {(ids) => (
              <select {...ids} value={form.kind} onChange={(event) => setForm({ ...form, kind: event.currentTarget.value as Form["kind"] })}>
                {KINDS.map((kind) => <option key={kind} value={kind}>{t(`event_kind.${kind}`)}</option>)}
              </select>
            )}
          </Field>
          <Field label={t("events.label")}>{(ids) => <input {...ids} type="text" required maxLength={200} autocomplete="off" value={form.label} onInput={(event) => setForm({ ...form, label: event.currentTarget.value })} />}</Field>
        </div>
        <FaultList error={error} />
        <p class="actions">
          <button type="submit" disabled={!form.date || !form.label.trim()}>{t(form.at === null ? "events.add" : "events.save")}</button>
          {form.at !== null && <button type="button" class="quiet" onClick={clear}>{t("dialog.cancel")}</button>}
        </p>
      </form>
    </section>
  );
}
