/** A change in words: what was done, and what became of the numbers. */
import type { EditWish } from "../../api/calls";
import type { ChangedMeasure, EditEntry } from "../../api/types";
import { measureLabel, valueText } from "../../format/measure";
import { fixed, formatNumber, NONE } from "../../format/number";
import { word } from "../../state/about";
import type { Change } from "../../state/session";
import { t } from "../../text/text";

const SPOKEN = 3;

/** One sentence for the live region: the first numbers before and after, and how many more. */
export function changeSentence(change: Change): string {
  const { changed } = change.answer;
  const told = changed.slice(0, SPOKEN).map(shortLine);
  const more = changed.length - told.length;
  const rest = more > 0 ? [t("change.more", { count: more })] : [];
  const numbers = changed.length ? [...told, ...rest].join("; ") : t("change.nothing");
  return `${t(`change.${change.what}_done`)} ${numbers}.`;
}

function shortLine({ id, before, after }: ChangedMeasure): string {
  const known = after ?? before;
  const name = known ? measureLabel(known) : id;
  return t("change.line", { name, before: before ? valueText(before) : NONE, after: after ? valueText(after) : NONE });
}

/** What an edit does, in a few words: kind and values. */
export function editText(edit: Pick<EditEntry | EditWish, "kind" | "values">): string {
  const { values } = edit;
  const kind = word("edit", edit.kind);
  if ("start_s" in values && "stop_s" in values) return t("edit.span", { kind, start: seconds(values["start_s"]), stop: seconds(values["stop_s"]) });
  if ("at_s" in values) return t("edit.moment", { kind, at: seconds(values["at_s"]) });
  if (edit.kind === "take_back") return t("edit.take_back", { of: String(values["of"]) });
  const told = Object.entries(values).map(([key, value]) => `${key.replaceAll("_", " ")} ${shown(value)}`);
  return told.length ? t("edit.values", { kind, values: told.join(", ") }) : kind;
}

function seconds(value: unknown): string {
  return typeof value === "number" ? fixed(value, 3) : String(value);
}

function shown(value: unknown): string {
  return typeof value === "number" ? formatNumber(value) : String(value);
}
