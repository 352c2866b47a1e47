/** Addresses of the pages. A trial's id may hold any sign, slashes too. */
const part = encodeURIComponent;

export const patientsPath = (): string => "/";
export const patientPath = (id: string): string => `/patients/${part(id)}`;
export const sessionPath = (id: string): string => `/sessions/${part(id)}`;
export const readPath = (id: string): string => `${sessionPath(id)}/read`;
export const coursePath = (id: string): string => `${patientPath(id)}/course`;
export const bringPath = (): string => "/bring-in";
export const importPath = (id: string): string => `/bring-in/${part(id)}`;
export const logPath = (): string => "/log";

export interface Moment {
  readonly measure?: string;
  readonly start_s?: number;
  readonly stop_s?: number;
}

export function trialPath(session: string, trial: string, moment: Moment = {}): string {
  const query = new URLSearchParams();
  if (moment.measure) query.set("measure", moment.measure);
  if (moment.start_s !== undefined) query.set("start", String(moment.start_s));
  if (moment.stop_s !== undefined) query.set("stop", String(moment.stop_s));
  const asked = query.size ? `?${query}` : "";
  return `${sessionPath(session)}/trials/${part(trial)}${asked}`;
}
