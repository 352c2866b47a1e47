import { useEffect, useId, useState } from "preact/hooks";
import { patients as askPatients } from "../../api/calls";
import { isGivenUp } from "../../api/errors";
import type { PatientEntry } from "../../api/types";
import { Field } from "../../parts/Field";
import { t } from "../../text/text";

interface ChoosePatientProps {
  readonly label: string;
  readonly without: string;
  readonly chosen: string | null;
  readonly onChoose: (id: string | null) => void;
  /** Offer a new patient as well. */
  readonly offerNew?: boolean;
}

export const NEW = "new";

/** Find another patient and choose it. */
export function ChoosePatient({ label, without, chosen, onChoose, offerNew = false }: ChoosePatientProps) {
  const [find, setFind] = useState("");
  const [found, setFound] = useState<PatientEntry[]>([]);
  const group = useId();
  useEffect(() => {
    const stop = new AbortController();
    askPatients(find, stop.signal).then(setFound, (error: unknown) => {
      if (!isGivenUp(error)) setFound([]);
    });
    return () => stop.abort();
  }, [find]);
  const offered = found.filter((patient) => patient.id !== without);
  const choice = (id: string, text: string) => (
    <div class="check" key={id}>
      <input type="radio" name={group} id={`${group}${id}`} checked={chosen === id} onChange={() => onChoose(id)} />
      <label for={`${group}${id}`}>{text}</label>
    </div>
  );
  return (
    <>
      <Field label={t("choose.find")}>
        {(ids) => <input {...ids} type="search" autocomplete="off" value={find} onInput={(event) => setFind(event.currentTarget.value)} />}
      </Field>
      <fieldset class="choices">
        <legend>{label}</legend>
        {offerNew && choice(NEW, t("choose.new"))}
        {offered.map((patient) => choice(patient.id, t("choose.patient", { code: patient.code, count: patient.sessions.length })))}
        {!offered.length && <p class="hint">{t("choose.none")}</p>}
      </fieldset>
    </>
  );
}
