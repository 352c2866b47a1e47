import { useEffect, useState } from "preact/hooks";
import { patients as askPatients } from "../../api/calls";
import { followCourse } from "../../api/further_calls";
import { connection } from "../../api/connection";
import type { PatientEntry } from "../../api/types";
import { patientPath, patientsPath } from "../../app/paths";
import type { PageProps } from "../../app/routes";
import { FaultList } from "../../parts/FaultList";
import { JobProgress } from "../../parts/JobProgress";
import { PageFrame } from "../../parts/PageFrame";
import { PageHead } from "../../parts/PageHead";
import { Trouble } from "../../parts/Trouble";
import { useStore } from "../../state/store";
import { useJob } from "../../state/use_job";
import { t } from "../../text/text";
import { BetweenPart } from "./BetweenPart";
import { EventsPart } from "./EventsPart";
import { between, numbered } from "./numbering";
import { RetestsPart } from "./RetestsPart";

/** All sessions of a patient against one another, with events and the clinic's retests. */
export function CoursePage({ params }: PageProps) {
  const id = params["patient"] ?? "";
  const { patient, error } = usePatient(id);
  const crumbs = [{ href: patientsPath(), label: t("nav.patients") }, { href: patientPath(id), label: patient?.code ?? id }];
  return (
    <>
      <PageHead title={t("course.title")} crumbs={crumbs} />
      <Trouble error={error} />
      {patient === undefined && !error && <p class="waiting">{t("patients.loading")}</p>}
      {patient === null && <p>{t("patient.missing_text")}</p>}
      {patient && <Followed key={id} patient={patient} />}
    </>
  );
}

function usePatient(id: string): { patient: PatientEntry | null | undefined; error: unknown } {
  const [state, setState] = useState<{ patient: PatientEntry | null | undefined; error: unknown }>({ patient: undefined, error: null });
  const connected = useStore(connection);
  useEffect(() => {
    askPatients("").then(
      (all) => setState({ patient: all.find((one) => one.id === id) ?? null, error: null }),
      (error: unknown) => setState((before) => ({ ...before, error })),
    );
  }, [id, connected]);
  return state;
}

interface Made {
  readonly page: string;
  readonly document: unknown;
}

function Followed({ patient }: { readonly patient: PatientEntry }) {
  const running = useJob();
  const [made, setMade] = useState<Made | null>(null);
  const [chosen, choose] = useState<readonly [number | null, number | null]>([null, null]);
  const [turn, setTurn] = useState(0);
  const again = (): void => setTurn((count) => count + 1);
  const enough = patient.sessions.length > 1;
  useEffect(() => {
    if (!enough) return;
    void running.begin(() => followCourse(patient.id, between(...chosen))).then((job) => {
      if (job?.state === "done") setMade(job.result as unknown as Made);
    });
  }, [patient.id, ...chosen, turn]);
  const sessions = numbered(made?.document, patient.sessions);
  return (
    <>
      <div class="course-tools">
        <BetweenPart sessions={sessions} chosen={chosen} onChoose={choose} />
        <EventsPart patient={patient.id} changed={again} />
        <RetestsPart changed={again} />
      </div>
      {!enough && <p class="nothing">{t("course.one_session")}</p>}
      <JobProgress running={running} label={t("course.making")} told={false} />
      <FaultList error={running.error} />
      {enough && !running.running && running.job?.state !== "done" && <p><button type="button" onClick={again}>{t("course.again")}</button></p>}
      {made && <PageFrame page={made.page} title={t("course.page", { code: patient.code })} />}
    </>
  );
}
