/** Short names for what the pages of bringing in, teaching, references and courses send and get. */
import type { components } from "./schema";

type Shapes = components["schemas"];

export type ColumnTold = Shapes["ColumnTold"];
export type CourseEvent = Shapes["CourseEvent"];
export type EventsAnswer = Shapes["EventsAnswer"];
export type ImportAnswer = Shapes["ImportAnswer"];
export type ImportFile = Shapes["ImportFile"];
export type ImportWaiting = Shapes["ImportWaiting"];
export type LessonHeader = Shapes["LessonHeader"];
export type LessonMeasure = Shapes["LessonMeasure"];
export type LessonTrial = Shapes["LessonTrial"];
export type PreviewTrial = Shapes["PreviewTrial"];
export type ProblemEntry = Shapes["ProblemEntry"];
export type ReferencesAnswer = Shapes["ReferencesAnswer"];
export type ReferenceFile = Shapes["ReferenceFile"];
export type ReferenceSet = Shapes["ReferenceSetAnswer"];
export type Retests = Shapes["RetestsAnswer"];
export type Told = Shapes["DescriptionTold"];
export type TrialTold = Shapes["TrialTold"];
