import { useState } from "preact/hooks";
import { mergePatients } from "../../api/calls";
import type { PatientEntry } from "../../api/types";
import { t } from "../../text/text";
import { ChoosePatient } from "./ChoosePatient";
import { FilingForm } from "./FilingForm";

interface MergeDialogProps {
  readonly patient: PatientEntry;
  readonly onClose: () => void;
  readonly changed: () => void;
}

/** Put all sessions of this patient under another one: two entries were the same person. */
export function MergeDialog({ patient, onClose, changed }: MergeDialogProps) {
  const [into, setInto] = useState<string | null>(null);
  return (
    <FilingForm
      title={t("merge.title", { code: patient.code })}
      explains={t("merge.explains", { code: patient.code, count: patient.sessions.length })}
      submit={t("merge.submit")}
      done={t("merge.done", { code: patient.code })}
      ready={into !== null}
      act={(by, reason) => mergePatients(patient.id, into ?? "", by, reason)}
      onClose={onClose}
      changed={changed}
    >
      <ChoosePatient label={t("merge.into")} without={patient.id} chosen={into} onChoose={setInto} />
    </FilingForm>
  );
}
