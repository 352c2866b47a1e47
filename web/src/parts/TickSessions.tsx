import { useEffect, useId, useState } from "preact/hooks";
import { patients as askPatients } from "../api/calls";
import type { PatientEntry } from "../api/types";
import { day } from "../format/date";
import { t } from "../text/text";
import { Field } from "./Field";
import { Trouble } from "./Trouble";

interface TickSessionsProps {
  readonly label: string;
  readonly ticked: readonly string[];
  readonly onTick: (sessions: string[]) => void;
}

/** Sessions of the store, found by a search and ticked; what is ticked stays when the search changes. */
export function TickSessions({ label, ticked, onTick }: TickSessionsProps) {
  const [find, setFind] = useState("");
  const [found, setFound] = useState<PatientEntry[]>([]);
  const [error, setError] = useState<unknown>(null);
  const name = useId();
  useEffect(() => {
    const timer = setTimeout(() => askPatients(find).then(setFound, setError), 150);
    return () => clearTimeout(timer);
  }, [find]);
  const shown = found.flatMap((patient) => patient.sessions.map((session) => ({ id: session.id, words: `${patient.code}, ${session.date ? day(session.date) : t("session.no_date")}` })));
  const ids = shown.map(({ id }) => id);
  const tick = (id: string, on: boolean): void => onTick(on ? [...ticked, id] : ticked.filter((other) => other !== id));
  return (
    <>
      <Field label={t("patients.find")}>
        {(ids) => <input {...ids} type="search" autocomplete="off" value={find} onInput={(event) => setFind(event.currentTarget.value)} />}
      </Field>
      <fieldset>
        <legend>{label}</legend>
        <div class="tick-list">
          {!shown.length && <p class="nothing">{t("patients.none_found")}</p>}
          {shown.map(({ id, words }) => (
            <div class="check" key={id}>
              <input type="checkbox" id={`${name}${id}`} checked={ticked.includes(id)} onChange={(event) => tick(id, event.currentTarget.checked)} />
              <label for={`${name}${id}`}>{words}</label>
            </div>
          ))}
        </div>
      </fieldset>
      <p class="actions">
        <span class="hint" role="status">{t("tick.count", { count: ticked.length })}</span>
        <button type="button" class="quiet" onClick={() => onTick([...new Set([...ticked, ...ids])])}>{t("tick.all")}</button>
        <button type="button" class="quiet" onClick={() => onTick([])}>{t("tick.none")}</button>
      </p>
      <Trouble error={error} />
    </>
  );
}
