/** The colours of the style sheet for drawing on a canvas. */
export interface Palette {
  readonly paper: string;
  readonly sheet: string;
  readonly ink: string;
  readonly faint: string;
  readonly grid: string;
  readonly band: string;
  readonly core: string;
  readonly slow: string;
  readonly fit: string;
  readonly shade: string;
  readonly rule: string;
  readonly right: string;
  readonly left: string;
  readonly font: string;
  readonly size_px: number;
}

const NAMES = ["paper", "sheet", "ink", "faint", "grid", "band", "core", "slow", "fit", "shade", "rule", "right", "left"] as const;

export function readPalette(element: Element = document.documentElement): Palette {
  const style = getComputedStyle(element);
  const colours = Object.fromEntries(NAMES.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]));
  const size_px = Math.round(Number.parseFloat(getComputedStyle(document.documentElement).fontSize) * 0.78);
  return { ...(colours as Record<(typeof NAMES)[number], string>), size_px, font: `${size_px}px ${style.getPropertyValue("--sans")}` };
}

/** Call when light turns to dark, when the page goes to print, and when letters change their size. */
export function watchPalette(changed: () => void): () => void {
  const media = ["(prefers-color-scheme: dark)", "print"].map((query) => matchMedia(query));
  for (const query of media) query.addEventListener("change", changed);
  return () => media.forEach((query) => query.removeEventListener("change", changed));
}
