/** What can be asked of the server, one function a question. */
import { bytesOf, call, fileOf, textOf } from "./call";
import type {
  About, Changed, DraftAnswer, Folded, Impulses, Job, LogEntry, PatientEntry, SessionAnswer, SessionEntry,
  SignAnswer, SignerEntry, TrialAnswer,
} from "./types";

export interface EditWish {
  readonly kind: string;
  readonly trial: string | null;
  readonly values: Readonly<Record<string, unknown>>;
}

export interface DraftWish {
  readonly reworded: Readonly<Record<string, string>>;
  readonly dropped: Readonly<Record<string, string>>;
  readonly remark: string;
}

export const DIGEST_HEADER = "Slowphase-Reading-Digest";

const part = encodeURIComponent;
const session = (id: string): string => `/api/sessions/${part(id)}`;
const trial = (id: string, of: string): string => `${session(id)}/trials/${of.split("/").map(part).join("/")}`;

export const about = (): Promise<About> => call("GET", "/api/about");
export const job = (id: string): Promise<Job> => call("GET", `/api/jobs/${part(id)}`);

export const patients = (find: string, signal?: AbortSignal): Promise<PatientEntry[]> =>
  call("GET", `/api/patients?find=${part(find)}`, { signal });
export const mergePatients = (id: string, into: string, by: string, reason: string): Promise<PatientEntry> =>
  call("POST", `/api/patients/${part(id)}/merge`, { body: { into, by, reason } });
export const moveSession = (id: string, patient: string | null, by: string, reason: string): Promise<SessionEntry> =>
  call("POST", `${session(id)}/move`, { body: { patient, by, reason } });

export interface LogWish {
  readonly patient?: string;
  readonly session?: string;
  readonly before?: number;
  readonly limit?: number;
}
export function log(wish: LogWish): Promise<LogEntry[]> {
  const asked = new URLSearchParams();
  for (const [key, value] of Object.entries(wish)) if (value !== undefined) asked.set(key, String(value));
  return call("GET", `/api/log?${asked}`);
}
export const reverse = (entry: number, by: string, reason: string): Promise<LogEntry> =>
  call("POST", `/api/log/${entry}/reverse`, { body: { by, reason } });

export const readSession = (id: string): Promise<SessionAnswer> => call("GET", session(id));
export const figure = (id: string, name: string): Promise<string> =>
  textOf(`${session(id)}/figures/${name.split("/").map(part).join("/")}.svg`).then((answer) => answer.text);
export const readTrial = (id: string, of: string): Promise<TrialAnswer> => call("GET", trial(id, of));
export const folded = (id: string, of: string): Promise<Folded> => call("GET", `${trial(id, of)}/folded`);
export const impulses = (id: string, of: string): Promise<Impulses> => call("GET", `${trial(id, of)}/impulses`);

export interface WindowWish {
  readonly channels: readonly string[];
  readonly start_s: number;
  readonly stop_s: number;
  readonly columns: number;
}
export function readWindow(id: string, of: string, wish: WindowWish, signal?: AbortSignal): Promise<ArrayBuffer> {
  const asked = new URLSearchParams({
    channels: wish.channels.join(","),
    start_s: String(wish.start_s),
    stop_s: String(wish.stop_s),
    columns: String(wish.columns),
  });
  return bytesOf(`${trial(id, of)}/window?${asked}`, signal);
}

export const addEdit = (id: string, wish: EditWish, by: string, reason: string, expected: number): Promise<Changed> =>
  call("POST", `${session(id)}/edits`, { body: { ...wish, by, reason, expected } });
export const undo = (id: string, by: string, expected: number): Promise<Changed> =>
  call("POST", `${session(id)}/undo`, { body: { by, expected } });
export const redo = (id: string, by: string, expected: number): Promise<Changed> =>
  call("POST", `${session(id)}/redo`, { body: { by, expected } });
export const editsFile = (id: string): Promise<Blob> => fileOf(`${session(id)}/edits.json`);

export const saveDraft = (id: string, draft: DraftWish, by: string): Promise<DraftAnswer> =>
  call("PUT", `${session(id)}/draft`, { body: { ...draft, by } });
export async function reportPage(id: string, version?: number): Promise<{ page: string; digest: string }> {
  const { text, headers } = await textOf(`${session(id)}/report.html${version ? `?version=${version}` : ""}`);
  return { page: text, digest: headers.get(DIGEST_HEADER) ?? "" };
}
export const reportPdf = (id: string, paper: string, version?: number): Promise<Blob> =>
  fileOf(`${session(id)}/report.pdf?paper=${paper}${version ? `&version=${version}` : ""}`);
export const sign = (id: string, by: string, passphrase: string, expected_digest: string): Promise<SignAnswer> =>
  call("POST", `${session(id)}/sign`, { body: { by, passphrase, expected_digest } });
export const signers = (): Promise<SignerEntry[]> => call("GET", "/api/signers");
export const addSigner = (name: string, passphrase: string): Promise<SignerEntry> =>
  call("POST", "/api/signers", { body: { name, passphrase } });
