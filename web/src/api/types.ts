/** Short names for what goes over the wire; made from the server's OpenAPI document. */
import type { components } from "./schema";

type Shapes = components["schemas"];

export type About = Shapes["AboutAnswer"];
export type Changed = Shapes["ChangedAnswer"];
export type ChangedMeasure = Shapes["ChangedMeasure"];
export type Channel = Shapes["Channel"];
export type Document = Shapes["Document"];
export type Draft = Shapes["DraftEntry"];
export type DraftAnswer = Shapes["DraftAnswer"];
export type EditEntry = Shapes["EditEntry"];
export type Edits = Shapes["EditsEntry"];
export type FigureEntry = Shapes["FigureEntry"];
export type Folded = Shapes["FoldedAnswer"];
export type Impulses = Shapes["ImpulsesAnswer"];
export type ImpulseEntry = Shapes["ImpulseEntry"];
export type Job = Shapes["JobAnswer"];
export type KeyEntry = Shapes["KeyEntry"];
export type LogEntry = Shapes["LogEntry"];
export type PatientEntry = Shapes["PatientEntry"];
export type QuickPhase = Shapes["QuickPhase"];
export type SessionAnswer = Shapes["SessionAnswer"];
export type SessionEntry = Shapes["SessionEntry"];
export type SignAnswer = Shapes["SignAnswer"];
export type SignerEntry = Shapes["SignerEntry"];
export type TrialAnswer = Shapes["TrialAnswer"];
export type Unused = Shapes["Unused"];
export type VersionEntry = Shapes["VersionEntry"];

export type Agreement = Shapes["DocumentAgreement"];
export type Criterion = Shapes["DocumentCriterion"];
export type Evidence = Shapes["DocumentEvidence"];
export type Measure = Shapes["DocumentMeasure"];
export type Pattern = Shapes["DocumentPattern"];
export type Placement = Shapes["DocumentPlacement"];
export type Problem = Shapes["DocumentProblem"];
export type Statement = Shapes["DocumentStatement"];
export type Trial = Shapes["DocumentTrial"];
export type Grade = Measure["grade"];
