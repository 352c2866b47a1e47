/** The source files, for tests that read them. */
import { readdirSync, readFileSync, statSync } from "node:fs";
import { fileURLToPath } from "node:url";

export const SRC = fileURLToPath(new URL("../src/", import.meta.url));

export interface Source {
  readonly name: string;
  readonly text: string;
}

export function sources(ends: RegExp, folder = SRC): Source[] {
  return readdirSync(folder).flatMap((entry) => {
    const path = `${folder}${entry}`;
    if (statSync(path).isDirectory()) return sources(ends, `${path}/`);
    return ends.test(entry) ? [{ name: path.slice(SRC.length), text: readFileSync(path, "utf8") }] : [];
  });
}
