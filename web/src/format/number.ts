/** Numbers as people read them: the digits that a unit deserves, the reader's decimal mark. */
import { t } from "../text/text";
import { numbersLocale } from "./locale";

export const MINUS = "\u2212";
export const NONE = "–";

/** Decimals by UCUM unit, as the report and the terminal show them. */
export const DECIMALS: Readonly<Record<string, number>> = {
  "1": 2, "%": 0, deg: 1, "deg/s": 1, s: 1, "/min": 0, "/s": 3, Hz: 3, ms: 0,
};
const UNIT_WORDS: Readonly<Record<string, string>> = {
  "1": "", "/min": "/min", "/s": "/s", "{pixel}": "px",
};
const OTHER_DECIMALS = 1;

const made = new Map<string, Intl.NumberFormat>();

/** The number with these decimals and a real minus sign; a dash where there is none. */
export function fixed(value: number | null | undefined, decimals: number): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return NONE;
  const text = format(decimals).format(value);
  return isZero(text) ? text.replace(/^[-\u2212]/, "") : text.replace("-", MINUS);
}

/** A number of a unit, without the unit. */
export function numberOf(value: number | null | undefined, unit: string): string {
  return fixed(value, decimalsOf(unit));
}

export function decimalsOf(unit: string): number {
  return DECIMALS[unit] ?? OTHER_DECIMALS;
}

export function unitWords(unit: string): string {
  return UNIT_WORDS[unit] ?? unit;
}

/** A number with its unit. */
export function quantity(value: number | null | undefined, unit: string): string {
  return `${numberOf(value, unit)} ${unitWords(unit)}`.trim();
}

/** A count or a number of no fixed precision, as it stands in a sentence. */
export function formatNumber(value: number): string {
  return new Intl.NumberFormat(numbersLocale(), { maximumFractionDigits: 6, useGrouping: "min2" })
    .format(value)
    .replace("-", MINUS);
}

/** A 95 % interval without its unit; less than the last digit shown is written as that. */
export function interval(low: number | null, high: number | null, unit: string, decimals = decimalsOf(unit)): string {
  if (low === null || high === null) return "";
  const [from, to] = [fixed(low, decimals), fixed(high, decimals)];
  if (unit === "%" && from === to && Math.abs(low).toFixed(0) === "100") return t("number.at_limit");
  if (low === high) return "";
  if (from === to) return `±<${fixed(10 ** -decimals, decimals)}`;
  return low < 0 || high < 0 ? t("number.to", { from, to }) : `${from}–${to}`;
}

/** What a person typed as a number, with either decimal mark; null where it is none. */
export function typedNumber(text: string): number | null {
  const plain = text.trim().replace(MINUS, "-").replace(",", ".");
  return /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(plain) ? Number(plain) : null;
}

function format(decimals: number): Intl.NumberFormat {
  const key = `${numbersLocale() ?? ""}/${decimals}`;
  let known = made.get(key);
  if (!known) {
    const digits = { minimumFractionDigits: decimals, maximumFractionDigits: decimals };
    known = new Intl.NumberFormat(numbersLocale(), { ...digits, useGrouping: "min2" });
    made.set(key, known);
  }
  return known;
}

function isZero(text: string): boolean {
  return !/[1-9]/.test(text);
}
