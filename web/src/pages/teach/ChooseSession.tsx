import { useEffect, useState } from "preact/hooks";
import { patients as askPatients } from "../../api/calls";
import type { PatientEntry } from "../../api/types";
import { day } from "../../format/date";
import { Field } from "../../parts/Field";
import { Trouble } from "../../parts/Trouble";
import { t } from "../../text/text";

interface ChooseSessionProps {
  readonly chosen: string;
  readonly onChoose: (session: string) => void;
  readonly matched: number;
  readonly reading: boolean;
}

/** One patient's session, of those that the search finds. */
export function ChooseSession({ chosen, onChoose, matched, reading }: ChooseSessionProps) {
  const [find, setFind] = useState("");
  const [found, setFound] = useState<PatientEntry[]>([]);
  const [error, setError] = useState<unknown>(null);
  useEffect(() => {
    const timer = setTimeout(() => askPatients(find).then(setFound, setError), 150);
    return () => clearTimeout(timer);
  }, [find]);
  const sessions = found.flatMap((patient) => patient.sessions.map((session) => ({ session, code: patient.code })));
  const own = sessions.find(({ session }) => session.id === chosen);
  const words = (date: string | null): string => (date ? day(date) : t("session.no_date"));
  return (
    <>
      <Field label={t("patients.find")}>
        {(ids) => <input {...ids} type="search" autocomplete="off" value={find} onInput={(event) => setFind(event.currentTarget.value)} />}
      </Field>
      <Field label={t("sessions.date")}>
        {(ids) => (
          <select {...ids} value={chosen} onChange={(event) => onChoose(event.currentTarget.value)}>
            <option value="">{t("teach.over_none")}</option>
            {chosen && !own && <option value={chosen}>{chosen}</option>}
            {sessions.map(({ session, code }) => <option key={session.id} value={session.id}>{code}, {words(session.date)}</option>)}
          </select>
        )}
      </Field>
      <Trouble error={error} />
      <div role="status">
        {reading && <p class="hint">{t("teach.over_reading")}</p>}
        {chosen && !reading && (
          <>
            {own && <p class="caution-line">{t("teach.over_patient", { code: own.code, date: words(own.session.date) })}</p>}
            <p class="hint">{t("teach.over_matched", { count: matched })}</p>
          </>
        )}
      </div>
    </>
  );
}
