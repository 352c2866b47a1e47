/** What the pages of bringing in, teaching, references and courses ask of the server. */
import { bytesOf, call, postedBytes } from "./call";
import type { WindowWish } from "./calls";
import type {
  CourseEvent, EventsAnswer, ImportAnswer, ImportWaiting, ReferencesAnswer, Retests, Told,
} from "./further_types";
import type { Job } from "./types";

const part = encodeURIComponent;
const one = (id: string): string => `/api/imports/${part(id)}`;

export const cancelJob = (id: string): Promise<Job> => call("DELETE", `/api/jobs/${part(id)}`);

export const imports = (): Promise<ImportWaiting[]> => call("GET", "/api/imports");
export const beginImport = (by: string): Promise<{ id: string }> => call("POST", "/api/imports", { body: { by } });
export const filePath = (id: string, path: string): string => `${one(id)}/files/${path.split("/").map(part).join("/")}`;
export const readImport = (id: string): Promise<ImportAnswer> => call("GET", one(id));
export const describeImport = (id: string, told: Told): Promise<ImportAnswer> =>
  call("PUT", `${one(id)}/description`, { body: told });
export const chooseMap = (id: string, name: string | null): Promise<ImportAnswer> =>
  call("PUT", `${one(id)}/map`, { body: { name } });
export const dropImport = (id: string): Promise<void> => call("DELETE", one(id));
export interface Confirmed {
  readonly by: string;
  readonly title: string;
  readonly save_map_as: string | null;
  readonly patient: string | null;
}
export const confirmImport = (id: string, body: Confirmed): Promise<Job> => call("POST", `${one(id)}/confirm`, { body });
export function previewWindow(id: string, trial: string, wish: WindowWish, signal?: AbortSignal): Promise<ArrayBuffer> {
  const asked = new URLSearchParams({
    trial,
    channels: wish.channels.join(","),
    start_s: String(wish.start_s),
    stop_s: String(wish.stop_s),
    columns: String(wish.columns),
  });
  return bytesOf(`${one(id)}/preview?${asked}`, signal);
}

export interface Person {
  readonly age_years: number;
  readonly right: number;
  readonly left: number;
  readonly compensated: number;
  readonly storage: number;
  readonly suppression: number;
  readonly alertness: number;
}
export const teach = (person: Person): Promise<ArrayBuffer> => postedBytes("/api/teach", person);

const patient = (id: string): string => `/api/patients/${part(id)}`;
export const followCourse = (id: string, between: readonly [number, number] | null): Promise<Job> =>
  call("POST", `${patient(id)}/course`, { body: { between } });
export const readEvents = (id: string): Promise<EventsAnswer> => call("GET", `${patient(id)}/events`);
export const writeEvents = (id: string, events: readonly CourseEvent[], by: string): Promise<EventsAnswer> =>
  call("PUT", `${patient(id)}/events`, { body: { events, by } });
export const readRetests = (): Promise<Retests> => call("GET", "/api/retests");
export const writeRetests = (text: string, by: string): Promise<Retests> => call("PUT", "/api/retests", { body: { text, by } });
export const buildRetests = (sessions: readonly string[]): Promise<Job> => call("POST", "/api/retests/build", { body: { sessions } });

export const references = (): Promise<ReferencesAnswer> => call("GET", "/api/references");
export const checkReference = (name: string, text: string): Promise<ReferencesAnswer> =>
  call("POST", "/api/references/check", { body: { name, text } });
export const addReference = (name: string, text: string, by: string): Promise<ReferencesAnswer> =>
  call("POST", "/api/references", { body: { name, text, by } });
export const removeReference = (name: string, by: string, reason: string): Promise<ReferencesAnswer> =>
  call("POST", `/api/references/${part(name)}/remove`, { body: { by, reason } });
export interface IntervalsWish {
  readonly set_id: string;
  readonly sessions: readonly string[];
  readonly without_outliers: boolean;
  readonly apart: boolean;
  readonly by_age: "auto" | "always" | "never";
}
export const buildIntervals = (wish: IntervalsWish): Promise<Job> => call("POST", "/api/references/build", { body: wish });
