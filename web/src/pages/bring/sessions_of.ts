/** Which dropped files belong to one session: those below a session.toml, or all of them. Pure. */
export interface Given {
  readonly path: string;
  readonly file: File;
}

export interface Parcel {
  readonly name: string;
  readonly files: readonly Given[];
}

const TELLS = "session.toml";

/** One parcel for each session.toml, or one of everything; `alone` belong to none of several sessions. */
export function sessionsOf(given: readonly Given[]): { parcels: Parcel[]; alone: Given[] } {
  const visible = given.filter(({ path }) => !path.split("/").some((part) => part.startsWith(".")));
  const roots = visible.filter(({ path }) => nameOf(path) === TELLS).map(({ path }) => folderOf(path));
  if (roots.length < 2) {
    const files = visible.map((one) => ({ ...one, path: below(commonFolder(visible), one.path) }));
    return { parcels: files.length ? [{ name: commonFolder(visible) || (files[0]?.path ?? ""), files }] : [], alone: [] };
  }
  const home = (path: string): string | undefined => roots.filter((root) => isBelow(root, path)).sort((a, b) => b.length - a.length)[0];
  const parcels = roots.map((root) => ({
    name: root,
    files: visible.filter(({ path }) => home(path) === root).map((one) => ({ ...one, path: below(root, one.path) })),
  }));
  return { parcels, alone: visible.filter(({ path }) => home(path) === undefined) };
}

function nameOf(path: string): string {
  return path.slice(path.lastIndexOf("/") + 1);
}

function folderOf(path: string): string {
  return path.slice(0, Math.max(path.lastIndexOf("/"), 0));
}

function isBelow(root: string, path: string): boolean {
  return root === "" || path.startsWith(`${root}/`);
}

function below(root: string, path: string): string {
  return root === "" ? path : path.slice(root.length + 1);
}

/** The deepest folder that holds all of them. */
function commonFolder(given: readonly Given[]): string {
  const [first, ...rest] = given.map(({ path }) => folderOf(path));
  let common = first ?? "";
  while (common && !rest.every((folder) => folder === common || isBelow(common, folder))) common = folderOf(common);
  return common;
}
