import { useEffect, useState } from "preact/hooks";
import { patients as askPatients } from "../../api/calls";
import { connection } from "../../api/connection";
import type { PatientEntry } from "../../api/types";
import { coursePath, patientsPath } from "../../app/paths";
import type { PageProps } from "../../app/routes";
import { Link } from "../../parts/Link";
import { PageHead } from "../../parts/PageHead";
import { Trouble } from "../../parts/Trouble";
import { useStore } from "../../state/store";
import { t } from "../../text/text";
import { LogList } from "../log/LogList";
import { PatientCard } from "./PatientCard";

/** One patient: sessions, and what was done with them. */
export function PatientPage({ params }: PageProps) {
  const id = params["patient"] ?? "";
  const [all, setAll] = useState<PatientEntry[] | null>(null);
  const [error, setError] = useState<unknown>(null);
  const [turn, setTurn] = useState(0);
  const connected = useStore(connection);
  useEffect(() => {
    askPatients("").then(setAll, setError);
  }, [id, turn, connected]);
  const crumbs = [{ href: patientsPath(), label: t("nav.patients") }];
  if (!all) {
    return (
      <>
        <PageHead title={t("patient.title")} crumbs={crumbs} />
        {error ? <Trouble error={error} /> : <p class="waiting">{t("patients.loading")}</p>}
      </>
    );
  }
  const patient = all.find((one) => one.id === id);
  if (!patient) {
    return (
      <>
        <PageHead title={t("patient.missing")} crumbs={crumbs} />
        <p>{t("patient.missing_text")}</p>
      </>
    );
  }
  return (
    <>
      <PageHead title={patient.code} crumbs={crumbs}><Link href={coursePath(id)}>{t("course.link")}</Link></PageHead>
      <PatientCard patient={patient} changed={() => setTurn((count) => count + 1)} alone />
      <section class="sheet" aria-labelledby="patient-log">
        <h2 id="patient-log">{t("log.title")}</h2>
        <LogList key={turn} about={{ patient: id }} changed={() => setTurn((count) => count + 1)} />
      </section>
    </>
  );
}
