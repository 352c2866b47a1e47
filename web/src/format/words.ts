/** Small words for numbers and sides. */
import { t } from "../text/text";
import { fixed } from "./number";

export function sideLetter(side: string): string {
  if (side === "right") return t("side.right_letter");
  return side === "left" ? t("side.left_letter") : side;
}

/** A probability as people say it; never 0 or 100 %. */
export function chance(probability: number): string {
  if (probability > 0.99) return t("chance.over", { share: 99 });
  if (probability < 0.01) return t("chance.under", { share: 1 });
  return t("chance.share", { share: fixed(100 * probability, 0) });
}

const ranks = new Intl.PluralRules("en", { type: "ordinal" });

/** ``1st``, ``2.5th``. */
export function ordinal(rank: number): string {
  if (!Number.isInteger(rank)) return t("ordinal.other", { rank: fixed(rank, 1) });
  return t(`ordinal.${ranks.select(rank) as "one" | "two" | "few" | "other"}`, { rank });
}

/** A size of a file. */
export function fileSize(bytes: number): string {
  if (bytes < 1000) return t("size.bytes", { count: bytes });
  return bytes < 1e6
    ? t("size.kilobytes", { size: fixed(bytes / 1e3, 0) })
    : t("size.megabytes", { size: fixed(bytes / 1e6, 1) });
}
