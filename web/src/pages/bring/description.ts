/** Corrections of a description. Pure. */
import type { ColumnTold, Told, TrialTold } from "../../api/further_types";

/** Below this a person should look. */
export const SURE = 0.75;

export function isUnsure(confidence: number | null | undefined): boolean {
  return typeof confidence === "number" && confidence < SURE;
}

/** One row a column: those that are mapped, and those of the file that are not. */
export interface Row {
  readonly name: string | number;
  /** Where it stands in the description; null for a column that is not used. */
  readonly at: number | null;
  readonly column: ColumnTold | null;
}

export function rowsOf(columns: readonly ColumnTold[], headers: readonly string[]): Row[] {
  const named = (name: string): number[] => columns.flatMap((column, at) => (String(column.name) === name ? [at] : []));
  const fromFile = headers.flatMap((name): Row[] => {
    const found = named(name);
    return found.length ? found.map((at) => ({ name, at, column: columns[at] ?? null })) : [{ name, at: null, column: null }];
  });
  const elsewhere = columns.flatMap((column, at): Row[] => (headers.includes(String(column.name)) ? [] : [{ name: column.name, at, column }]));
  return [...fromFile, ...elsewhere];
}

/** Give a column of the file a role, another role, or none; a role has one column, so another one loses it. */
export function withRole(told: Told, row: Row, role: string, headers: readonly string[], units: readonly string[]): Told {
  const others = (told.columns ?? []).filter((column, at) => at !== row.at && column.role !== role);
  if (!role) return { ...told, columns: others };
  const kept = row.column?.unit && units.includes(row.column.unit) ? row.column.unit : (units.length === 1 ? (units[0] ?? null) : null);
  const made: ColumnTold = { ...row.column, role, name: nameIn(row.name, headers), unit: kept, positive: null, confidence: null, reasons: [] };
  const at = row.at ?? others.length;
  return { ...told, columns: [...others.slice(0, at), made, ...others.slice(at)] };
}

/** Columns of a file without headers go by number. */
function nameIn(name: string | number, headers: readonly string[]): string | number {
  const numbered = headers.length > 0 && headers.every((header, index) => header === String(index + 1));
  return numbered && typeof name === "string" ? Number(name) : name;
}

export function withColumn(told: Told, at: number, part: Partial<ColumnTold>): Told {
  const columns = (told.columns ?? []).map((column, index) => (index === at ? { ...column, ...part, confidence: null, reasons: [] } : column));
  return { ...told, columns };
}

export function withTrial(told: Told, at: number, part: Partial<TrialTold>): Told {
  const trials = (told.trials ?? []).map((trial, index) => (index === at ? { ...trial, ...part, confidence: null, reason: "" } : trial));
  return { ...told, trials };
}

/** A key of the stimulus; without a value it goes. */
export function withKey(told: Told, at: number, key: string, value: unknown): Told {
  const before = told.trials?.[at]?.stimulus ?? {};
  const others = Object.fromEntries(Object.entries(before).filter(([name]) => name !== key));
  return withTrial(told, at, { stimulus: value === null ? others : { ...others, [key]: value } });
}

export function withoutTrial(told: Told, at: number): Told {
  return { ...told, trials: (told.trials ?? []).filter((_, index) => index !== at) };
}

/** One more trial of a file, under an id that none has yet. */
export function withNewTrial(told: Told, file: string, kind: string): Told {
  const trials = told.trials ?? [];
  const known = new Set(trials.map(({ id }) => id));
  let number = trials.length + 1;
  while (known.has(`trial-${number}`)) number += 1;
  return { ...told, trials: [...trials, { id: `trial-${number}`, kind, file, vision: null, start_s: null, stop_s: null, stimulus: {}, confidence: null, reason: "" }] };
}

/** Which ways a column of a role may count. */
export function signsOf(role: string): readonly ("right" | "left" | "up" | "down")[] {
  if (/^(eye_v|target_v|head_velocity_pitch)/.test(role)) return ["up", "down"];
  return /^(eye_|target_h|head_)/.test(role) ? ["right", "left"] : [];
}
