import { useState } from "preact/hooks";
import { moveSession } from "../../api/calls";
import type { PatientEntry, SessionEntry } from "../../api/types";
import { day } from "../../format/date";
import { t } from "../../text/text";
import { ChoosePatient, NEW } from "./ChoosePatient";
import { FilingForm } from "./FilingForm";

interface MoveDialogProps {
  readonly session: SessionEntry;
  readonly patient: PatientEntry;
  readonly onClose: () => void;
  readonly changed: () => void;
}

/** Put one session under the patient whose it is. */
export function MoveDialog({ session, patient, onClose, changed }: MoveDialogProps) {
  const [to, setTo] = useState<string | null>(null);
  const date = session.date ? day(session.date) : t("session.no_date");
  return (
    <FilingForm
      title={t("move.title", { date })}
      explains={t("move.explains", { code: patient.code, date })}
      submit={t("move.submit")}
      done={t("move.done", { date })}
      ready={to !== null}
      act={(by, reason) => moveSession(session.id, to === NEW ? null : to, by, reason)}
      onClose={onClose}
      changed={changed}
    >
      <ChoosePatient label={t("move.to")} without={patient.id} chosen={to} onChoose={setTo} offerNew />
    </FilingForm>
  );
}
