/** A trial's stimulus in one line. */
import type { Trial } from "../api/types";
import { formatNumber } from "./number";

const KEYS: readonly (readonly [string, string])[] = [
  ["frequency_hz", "Hz"], ["peak_velocity_deg_s", "deg/s"], ["velocity_deg_s", "deg/s"], ["direction", ""],
  ["eccentricity_deg", "deg"], ["position", ""], ["ear", ""], ["temperature_c", "°C"], ["medium", ""], ["test", ""],
  ["response", ""], ["scale", ""],
];

export function stimulusText(trial: Pick<Trial, "stimulus" | "vision">): string {
  const parts = KEYS.flatMap(([key, unit]) => {
    const value = trial.stimulus[key];
    return value === undefined || value === null ? [] : [`${shown(value)} ${unit}`.trim()];
  });
  return [...parts, ...(trial.vision ? [trial.vision] : [])].join(", ");
}

function shown(value: unknown): string {
  return typeof value === "number" ? formatNumber(value) : String(value).replaceAll("_", " ");
}
