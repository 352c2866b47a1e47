/** Words of the page: every text that a person reads stands in the catalogue under a typed key. */
import { formatNumber } from "../format/number";
import { en } from "./en";

export type Counted = { readonly one: string; readonly other: string };
export type Catalogue = Readonly<Record<string, string | Counted>>;

type English = typeof en;
export type Key = keyof English;
type Holes<T> = T extends `${string}{${infer Hole}}${infer Rest}` ? Hole | Holes<Rest> : never;
type HolesOf<K extends Key> = English[K] extends string
  ? Holes<English[K]>
  : English[K] extends Counted
    ? Holes<English[K]["other"]> | Holes<English[K]["one"]> | "count"
    : never;
type Filling<K extends Key> = [HolesOf<K>] extends [never] ? [] : [{ readonly [H in HolesOf<K>]: string | number }];

const plural = new Intl.PluralRules("en");

/** The text under a key, its holes filled; numbers are written in the reader's way. */
export function t<K extends Key>(key: K, ...filling: Filling<K>): string {
  const entry: string | Counted = en[key];
  const values: Record<string, string | number> = filling[0] ?? {};
  return fill(typeof entry === "string" ? entry : entry[form(values)], values);
}

function form(values: Record<string, string | number>): "one" | "other" {
  return plural.select(Number(values["count"])) === "one" ? "one" : "other";
}

function fill(text: string, values: Record<string, string | number>): string {
  return text.replace(/\{(\w+)\}/g, (hole, name: string) => {
    const value = values[name];
    if (value === undefined) return hole;
    return typeof value === "number" ? formatNumber(value) : value;
  });
}
