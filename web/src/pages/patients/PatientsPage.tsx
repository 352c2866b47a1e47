import { useEffect, useState } from "preact/hooks";
import { patients as askPatients } from "../../api/calls";
import { connection } from "../../api/connection";
import { isGivenUp } from "../../api/errors";
import type { PatientEntry } from "../../api/types";
import type { PageProps } from "../../app/routes";
import { go } from "../../app/router";
import { PageHead } from "../../parts/PageHead";
import { Trouble } from "../../parts/Trouble";
import { about } from "../../state/about";
import { useStore } from "../../state/store";
import { t } from "../../text/text";
import { DemoProgress } from "./DemoProgress";
import { PatientCard } from "./PatientCard";

const PAUSE_MS = 150;
const FIRST = 50;

/** Find a patient; every session with its state. */
export function PatientsPage({ query }: PageProps) {
  const find = query.get("find") ?? "";
  const { found, error, again } = useFound(find);
  const [all, showAll] = useState(false);
  const job = useStore(about)?.demo_job ?? null;
  const shown = found && (all ? found : found.slice(0, FIRST));
  return (
    <>
      <PageHead title={t("patients.title")} />
      <search class="find">
        <label for="find">{t("patients.find")}</label>
        <input id="find" type="search" autocomplete="off" value={find} aria-describedby="found"
          onInput={(event) => go(withFind(event.currentTarget.value), { replace: true })} />
        <p id="found" role="status" class="hint">{found && t("patients.found", { count: found.length })}</p>
      </search>
      {job && <DemoProgress job={job} ended={again} />}
      <Trouble error={error} />
      {shown && <div class="patients">{shown.map((patient) => <PatientCard key={patient.id} patient={patient} changed={again} />)}</div>}
      {found?.length === 0 && <p class="nothing">{t(find ? "patients.none_found" : "patients.none")}</p>}
      {found && shown && found.length > shown.length && (
        <p><button type="button" onClick={() => showAll(true)}>{t("patients.show_all", { count: found.length })}</button></p>
      )}
    </>
  );
}

function withFind(find: string): string {
  return find ? `/?${new URLSearchParams({ find })}` : "/";
}

interface Found {
  readonly found: PatientEntry[] | null;
  readonly error: unknown;
  readonly again: () => void;
}

function useFound(find: string): Found {
  const [state, setState] = useState<Omit<Found, "again">>({ found: null, error: null });
  const [turn, setTurn] = useState(0);
  const connected = useStore(connection);
  useEffect(() => {
    const stop = new AbortController();
    const timer = setTimeout(() => {
      askPatients(find, stop.signal).then(
        (found) => setState({ found, error: null }),
        (error: unknown) => {
          if (!isGivenUp(error)) setState((before) => ({ ...before, error }));
        },
      );
    }, state.found ? PAUSE_MS : 0);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [find, turn, connected]);
  return { ...state, again: () => setTurn((count) => count + 1) };
}
