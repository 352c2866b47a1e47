/** Files of a drop or of a chooser, with their paths below what was dropped. */
import type { Given } from "./sessions_of";

/** Everything in a drop, folders too. The browser lets go of the drop once it returns: ask for all at once. */
export async function ofDrop(transfer: DataTransfer): Promise<Given[]> {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry()).filter((entry) => entry !== null);
  if (!entries.length) return [...transfer.files].map((file) => ({ path: file.name, file }));
  return (await Promise.all(entries.map((entry) => ofEntry(entry)))).flat();
}

export function ofChooser(files: FileList): Given[] {
  return [...files].map((file) => ({ path: file.webkitRelativePath || file.name, file }));
}

async function ofEntry(entry: FileSystemEntry): Promise<Given[]> {
  const path = entry.fullPath.replace(/^\/+/, "");
  if (entry.isFile) {
    const file = await new Promise<File>((found, failed) => (entry as FileSystemFileEntry).file(found, failed));
    return [{ path, file }];
  }
  const inside = await listed((entry as FileSystemDirectoryEntry).createReader());
  return (await Promise.all(inside.map((one) => ofEntry(one)))).flat();
}

/** A reader gives a hundred at a time, and nothing at the end. */
async function listed(reader: FileSystemDirectoryReader): Promise<FileSystemEntry[]> {
  const all: FileSystemEntry[] = [];
  for (;;) {
    const some = await new Promise<FileSystemEntry[]>((found, failed) => reader.readEntries(found, failed));
    if (!some.length) return all;
    all.push(...some);
  }
}
