/** The places of the bar at the top. A new page that stands for itself is one line here. */
import type { Key } from "../text/text";

export interface NavEntry {
  readonly href: string;
  readonly label: Key;
  /** Paths that belong to this entry. */
  readonly within: RegExp;
}

export const NAV: readonly NavEntry[] = [
  { href: "/", label: "nav.patients", within: /^\/($|patients|sessions)/ },
  { href: "/bring-in", label: "nav.bring", within: /^\/bring-in/ },
  { href: "/teach", label: "nav.teach", within: /^\/teach/ },
  { href: "/references", label: "nav.references", within: /^\/references/ },
  { href: "/log", label: "nav.log", within: /^\/log/ },
];
