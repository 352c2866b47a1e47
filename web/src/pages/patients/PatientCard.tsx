import { useState } from "preact/hooks";
import { patientPath, readPath, sessionPath } from "../../app/paths";
import type { PatientEntry, SessionEntry } from "../../api/types";
import { day } from "../../format/date";
import { GradeCounts } from "../../parts/GradeMark";
import { Link } from "../../parts/Link";
import { t } from "../../text/text";
import { MergeDialog } from "./MergeDialog";
import { MoveDialog } from "./MoveDialog";

interface PatientCardProps {
  readonly patient: PatientEntry;
  readonly changed: () => void;
  /** A heading of its own on the patient's page, a link to it in the list. */
  readonly alone?: boolean;
}

/** A patient with every session, and what can be done when something was filed wrongly. */
export function PatientCard({ patient, changed, alone = false }: PatientCardProps) {
  const [merging, setMerging] = useState(false);
  return (
    <section class="patient sheet" aria-label={t("patient.label", { code: patient.code })}>
      <div class="patient-head">
        {!alone && <h2><Link href={patientPath(patient.id)}>{patient.code}</Link></h2>}
        <p>{[patient.name, patient.sex === "unknown" ? "" : patient.sex].filter(Boolean).join(", ")}</p>
        <button type="button" class="quiet" onClick={() => setMerging(true)} aria-label={t("patient.merge_this", { code: patient.code })}>{t("patient.merge")}</button>
      </div>
      {patient.sessions.length ? <Sessions patient={patient} changed={changed} /> : <p class="nothing">{t("patient.no_sessions")}</p>}
      {merging && <MergeDialog patient={patient} onClose={() => setMerging(false)} changed={changed} />}
    </section>
  );
}

function Sessions({ patient, changed }: Omit<PatientCardProps, "alone">) {
  const [moving, setMoving] = useState<SessionEntry | null>(null);
  return (
    <>
      <table class="sessions">
        <caption class="unseen">{t("patient.sessions", { code: patient.code })}</caption>
        <thead>
          <tr>
            <th scope="col">{t("sessions.date")}</th>
            <th scope="col">{t("sessions.numbers")}</th>
            <th scope="col">{t("sessions.edits")}</th>
            <th scope="col">{t("sessions.state")}</th>
            <th scope="col"><span class="unseen">{t("sessions.actions")}</span></th>
          </tr>
        </thead>
        <tbody>
          {patient.sessions.map((session) => <Row key={session.id} session={session} code={patient.code} move={() => setMoving(session)} />)}
        </tbody>
      </table>
      {moving && <MoveDialog session={moving} patient={patient} onClose={() => setMoving(null)} changed={changed} />}
    </>
  );
}

function Row({ session, code, move }: { readonly session: SessionEntry; readonly code: string; readonly move: () => void }) {
  const date = session.date ? day(session.date) : t("session.no_date");
  return (
    <tr>
      <th scope="row">
        <Link href={sessionPath(session.id)} aria-label={t("sessions.open", { code, date })}>{date}</Link>
        {session.title && <span class="under">{session.title}</span>}
        {session.demo && <span class="under">{t("sessions.demo")}</span>}
      </th>
      <td>{session.grade_counts ? <GradeCounts counts={session.grade_counts} /> : <span class="hint">{t("sessions.not_measured")}</span>}</td>
      <td>{session.edits ? t("sessions.edit_count", { count: session.edits }) : t("sessions.no_edits")}</td>
      <td>
        {session.signed_version !== null && <Link href={readPath(session.id)}>{t("sessions.signed", { number: session.signed_version })}</Link>}
        {session.signed_version === null && <span>{t("state.draft")}</span>}
        {session.draft && <span class="under">{t("sessions.draft_open")}</span>}
      </td>
      <td class="n"><button type="button" class="quiet" onClick={move} aria-label={t("sessions.move_this", { code, date })}>{t("sessions.move")}</button></td>
    </tr>
  );
}
