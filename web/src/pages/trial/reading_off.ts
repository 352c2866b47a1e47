/** Values at the cursor in words; nothing is computed from what is drawn. */
import type { Channel } from "../../api/types";
import { decimalsOf, fixed, NONE, unitWords } from "../../format/number";
import { word } from "../../state/about";
import { t } from "../../text/text";
import { valueAt } from "../../traces/values_at";
import type { TraceWindow } from "../../traces/window_format";

/** The sample at a moment, or from where to where it lies within the column that is drawn. */
export function valueText(window: TraceWindow | null, channel: Channel, at_s: number): string {
  const shown = window && valueAt(window, channel.id, at_s);
  if (!shown || Number.isNaN(shown.low)) return NONE;
  const decimals = decimalsOf(channel.unit) + 1;
  const unit = unitWords(channel.unit);
  if (shown.low === shown.high) return `${fixed(shown.low, decimals)} ${unit}`;
  return t("traces.range", { low: fixed(shown.low, decimals), high: fixed(shown.high, decimals), unit });
}

export function reasonWord(code: string): string {
  return word("unused", code);
}
