/** A measure in words: its name, value, interval, and where it stands among others. */
import type { Measure, Placement } from "../api/types";
import { about, word } from "../state/about";
import { t } from "../text/text";
import { decimalsOf, fixed, interval, NONE, numberOf, quantity, unitWords } from "./number";
import { chance, ordinal, sideLetter } from "./words";

interface MeasureWords {
  readonly label?: string;
  readonly decimals?: number;
  readonly about?: string;
}

/** The words of a measure under its definition, else under its name. */
function wordsOf(measure: Pick<Measure, "name" | "definition">): MeasureWords {
  const table = about.value?.words["measure"] ?? {};
  return (table[`${measure.name}/${measure.definition}`] ?? table[measure.name] ?? {}) as MeasureWords;
}

/** The measure's name with plane or response and, as a letter, the side that it excites. */
export function measureLabel(measure: Measure): string {
  const name = wordsOf(measure).label ?? measure.name.replaceAll("_", " ");
  const parts = [name];
  if (measure.of) parts.push(word("of", measure.of));
  if (measure.exciting && !name.includes("exciting")) {
    parts.push(t("measure.exciting", { side: sideLetter(measure.exciting) }));
  }
  return parts.join(", ");
}

/** Whether it describes the recording rather than the patient: no reference is expected. */
export function aboutRecording(measure: Measure): boolean {
  return wordsOf(measure).about === "recording";
}

function decimals(measure: Measure): number {
  return wordsOf(measure).decimals ?? decimalsOf(measure.unit);
}

export function valueText(measure: Measure): string {
  if (measure.value === null) return NONE;
  return `${fixed(measure.value, decimals(measure))} ${unitWords(measure.unit)}`.trim();
}

export function intervalText(measure: Measure): string {
  if (measure.grade === "unusable") return NONE;
  return interval(measure.low, measure.high, measure.unit, decimals(measure)) || NONE;
}

/** ``0.63 (0.61–0.65)``; a dash where there is no value. */
export function withInterval(measure: Measure | null): string {
  if (!measure || measure.value === null) return NONE;
  const spread = intervalText(measure);
  return spread === NONE ? valueText(measure) : `${valueText(measure)} (${spread})`;
}

/** Where the value stands among others. */
export function placeText(placement: Placement): string {
  const place = percentileText(placement);
  return placement.unstated.length && /^\d/.test(place) ? t("place.about", { place }) : place;
}

function percentileText({ percentile, below, above }: Placement): string {
  if (percentile !== null) {
    if (percentile < 1) return t("place.below", { nth: ordinal(1) });
    if (percentile > 99) return t("place.above", { nth: ordinal(99) });
    return t("place.at", { nth: ordinal(Math.round(percentile)) });
  }
  if (below !== null) return t("place.below", { nth: ordinal(below) });
  return above === null ? "" : t("place.above", { nth: ordinal(above) });
}

/** The limits of a reference, in one phrase. */
export function limitsText({ lower, upper, between }: Placement, unit: string): string {
  const kind = limitsKind(between);
  if (lower !== null && upper !== null) {
    const from = numberOf(lower, unit);
    const range = lower < 0 ? t("number.to", { from, to: quantity(upper, unit) }) : `${from}–${quantity(upper, unit)}`;
    return `${kind}${range}`;
  }
  if (lower !== null) return kind + t("place.or_more", { value: quantity(lower, unit) });
  return upper === null ? "" : kind + t("place.or_less", { value: quantity(upper, unit) });
}

function limitsKind(between: number[] | null): string {
  const [low, high] = between ?? [];
  if (low === undefined || high === undefined) return "";
  if (low === 2.5 && high === 97.5) return `${t("place.central")} `;
  return `${t("place.between", { low: ordinal(low), high: ordinal(high) })} `;
}

export function outsideText(placement: Placement): string {
  return placement.beyond_limit === null ? "" : t("place.outside", { chance: chance(placement.beyond_limit) });
}

/** A set by a title that can be read. */
export function setName(placement: Placement): string {
  const titled: unknown = about.value?.words["set"]?.[placement.set];
  return typeof titled === "string" ? titled : placement.source;
}

/** Who says so, and how that is known. */
export function sourceText({ source, mark }: Placement): string {
  const known = t(`mark.${mark}`);
  return known === source ? known : t("place.source", { source, mark: known });
}
