/** What an import that waits is called: by whom and when it is of, else by its files. Pure. */
import type { ImportAnswer } from "../../api/further_types";
import { day } from "../../format/date";
import { t } from "../../text/text";

const MOST_FILES = 3;

type Known = Pick<ImportAnswer, "description" | "text" | "files">;

/** Empty where nothing has arrived yet. */
export function importName({ description, text, files }: Known): string {
  const code = description ? (description.code ?? "") : tomlValue(text, "code");
  const date = description ? (description.date ?? "") : tomlValue(text, "date");
  const known = [code.trim(), date && dayOr(date)].filter((part) => part !== "");
  return known.length ? known.join(", ") : filesName(files.map(({ path }) => path));
}

function filesName(paths: readonly string[]): string {
  const more = paths.length - MOST_FILES;
  return [...paths.slice(0, MOST_FILES), ...(more > 0 ? [t("bring.more_files", { count: more })] : [])].join(", ");
}

/** A plain value of a session.toml; it is only shown, the server reads the file. */
function tomlValue(text: string, key: string): string {
  const found = new RegExp(`^\\s*${key}\\s*=\\s*(?:"([^"\\n]*)"|'([^'\\n]*)'|([\\d-]+))`, "m").exec(text);
  return found?.[1] ?? found?.[2] ?? found?.[3] ?? "";
}

function dayOr(date: string): string {
  return /^\d{4}-\d{2}-\d{2}$/.test(date) ? day(date) : date;
}
