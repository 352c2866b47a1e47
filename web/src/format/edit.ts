/** An edit in words. */
import type { EditEntry } from "../api/types";
import { word } from "../state/about";
import { t } from "../text/text";
import { fixed, formatNumber } from "./number";

interface Told {
  readonly kind: string;
  readonly values: Readonly<Record<string, unknown>>;
}

/** What an edit does, in a few words: kind and values. */
export function editText(edit: Told): string {
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

/** The stretch of a trial that an edit is about, where it is about one. */
export function editSpan({ values }: EditEntry): { start_s: number; stop_s: number } | undefined {
  const { start_s, stop_s, at_s } = values as { start_s?: number; stop_s?: number; at_s?: number };
  if (start_s !== undefined && stop_s !== undefined) return { start_s, stop_s };
  return at_s === undefined ? undefined : { start_s: at_s - 1, stop_s: at_s + 1 };
}
