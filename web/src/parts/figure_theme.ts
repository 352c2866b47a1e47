/** A figure's colours are names of the style sheet; as an image it needs them told within itself. */
const NAMES = ["paper", "ink", "faint", "grid", "band", "core", "slow", "fit", "shade", "rule", "note"] as const;

/** The figure with the colours of light and dark, as the style sheet has them. */
export function themed(svg: string): string {
  const light = coloursUnder("light");
  const dark = coloursUnder("dark");
  const style = `<style>:root{${light}}@media (prefers-color-scheme:dark){:root{${dark}}}</style>`;
  return svg.replace(/(<svg[^>]*>)/, `$1${style}`);
}

/** An element that holds one scheme has its colours, whatever the page has. */
function coloursUnder(scheme: "light" | "dark"): string {
  const probe = document.createElement("div");
  probe.className = `scheme-${scheme}`;
  document.body.append(probe);
  const style = getComputedStyle(probe);
  const colours = NAMES.map((name) => `--${name}:${style.getPropertyValue(`--${name}`).trim()}`).join(";");
  probe.remove();
  return colours;
}
