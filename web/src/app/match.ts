/** Addresses against patterns such as ``/sessions/:session``. */

/** What fills the holes of a pattern; null where the address is another one. */
export function match(pattern: string, path: string): Record<string, string> | null {
  const wanted = pieces(pattern);
  const found = pieces(path);
  if (wanted.length !== found.length) return null;
  const params: Record<string, string> = {};
  for (const [index, piece] of wanted.entries()) {
    const given = decoded(found[index] ?? "");
    if (piece.startsWith(":")) params[piece.slice(1)] = given;
    else if (piece !== given) return null;
  }
  return params;
}

function pieces(path: string): string[] {
  return path.split("/").filter((piece) => piece !== "");
}

function decoded(piece: string): string {
  try {
    return decodeURIComponent(piece);
  } catch {
    return piece;
  }
}
