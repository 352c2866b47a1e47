// Make src/api/schema.d.ts, or the file that is named, again from the server's OpenAPI document.
// The Python to ask: $SLOWPHASE_PYTHON, else the project's own environment.
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import openapiTS, { astToString, COMMENT_HEADER } from "openapi-typescript";

const root = fileURLToPath(new URL("../../", import.meta.url));
const windows = process.platform === "win32";
const python = process.env.SLOWPHASE_PYTHON ?? `${root}.venv/${windows ? "Scripts/python.exe" : "bin/python"}`;
const told = execFileSync(python, ["-m", "slowphase.workbench.openapi"], { encoding: "utf8", maxBuffer: 1 << 26, cwd: root });
const tree = await openapiTS(told, { defaultNonNullable: false, alphabetize: true });
const place = process.argv[2] ?? fileURLToPath(new URL("../src/api/schema.d.ts", import.meta.url));
writeFileSync(place, COMMENT_HEADER + astToString(tree));
