/** What a person typed for a key of a trial, as the key's own type; the server checks it once more. */
import { typedNumber } from "./number";

type Reader = (text: string) => unknown;

const READERS: Readonly<Record<string, Reader>> = {
  number: typedNumber,
  flag: (text) => (text === "true" ? true : text === "false" ? false : null),
  interval: (text) => {
    const ends = numbers(text.replace("–", " "));
    return ends?.length === 2 ? ends : null;
  },
  targets: (text) => (text.startsWith("[") ? fromJson(text) : numbers(text)),
  levels: (text) => {
    const entries = text.split(";").map((part) => level(part));
    return entries.includes(null) ? null : Object.fromEntries(entries as [string, unknown][]);
  },
};

/** The value, or null where the text is none of that type. */
export function keyValue(type: string, text: string): unknown {
  const plain = text.trim();
  if (plain === "") return null;
  return (READERS[type] ?? String)(plain);
}

/** Numbers parted by spaces or semicolons, so that a comma may be a decimal mark. */
function numbers(text: string): number[] | null {
  const found = text.split(/[;\s]+/).filter(Boolean).map(typedNumber);
  return found.length && !found.includes(null) ? (found as number[]) : null;
}

function level(part: string): [string, unknown] | null {
  const [hz, value] = part.split("=").map((piece) => piece.trim());
  if (!hz || !value || typedNumber(hz) === null) return null;
  return [hz, typedNumber(value) ?? value];
}

function fromJson(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch {
    return null;
  }
}
