/** Which page stands at which address. A new page is one line here. */
import type { ComponentType } from "preact";
import { BringPage } from "../pages/bring/BringPage";
import { CoursePage } from "../pages/course/CoursePage";
import { ImportPage } from "../pages/bring/ImportPage";
import { LogPage } from "../pages/log/LogPage";
import { PatientPage } from "../pages/patients/PatientPage";
import { PatientsPage } from "../pages/patients/PatientsPage";
import { ReadPage } from "../pages/read/ReadPage";
import { ReferencesPage } from "../pages/references/ReferencesPage";
import { OverviewPage } from "../pages/session/OverviewPage";
import { TrialPage } from "../pages/trial/TrialPage";
import { TeachPage } from "../pages/teach/TeachPage";

export interface PageProps {
  readonly params: Readonly<Record<string, string>>;
  readonly query: URLSearchParams;
}

interface Route {
  readonly pattern: string;
  readonly page: ComponentType<PageProps>;
}

export const ROUTES: readonly Route[] = [
  { pattern: "/", page: PatientsPage },
  { pattern: "/patients/:patient", page: PatientPage },
  { pattern: "/patients/:patient/course", page: CoursePage },
  { pattern: "/sessions/:session", page: OverviewPage },
  { pattern: "/sessions/:session/trials/:trial", page: TrialPage },
  { pattern: "/sessions/:session/read", page: ReadPage },
  { pattern: "/bring-in", page: BringPage },
  { pattern: "/bring-in/:import", page: ImportPage },
  { pattern: "/teach", page: TeachPage },
  { pattern: "/references", page: ReferencesPage },
  { pattern: "/log", page: LogPage },
];
