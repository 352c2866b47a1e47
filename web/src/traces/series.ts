/** Which channels of a trial are lines, in which panel, and how each is drawn. */
import type { Channel, TrialAnswer } from "../api/types";
import { type Key, t } from "../text/text";
import type { Stroke } from "./envelope";
import type { Palette } from "./palette";

export type PanelName = "position" | "velocity";

export interface Series {
  readonly channel: Channel;
  readonly panel: PanelName;
  /** A short name; the plane is told by the group that it stands in. */
  readonly name: string;
  /** Columns in which samples are lost stand apart; for a slow phase that is the rule, not a fault. */
  readonly tellsLost: boolean;
}

const STILL = new Set(["spontaneous", "gaze", "positional"]);
/** Drawn first to last: what matters most lies on top. */
const ORDER = ["other", "pupil", "target", "eye", "slow", "head", "position", "median", "fit"];

export function seriesOf(trial: TrialAnswer): Series[] {
  return trial.channels
    .filter((channel) => channel.panel !== "other")
    .map((channel) => ({
      channel,
      panel: channel.panel as PanelName,
      name: lineName(channel, trial.kind),
      tellsLost: channel.role === "eye" || channel.role === "position",
    }))
    .sort((one, other) => ORDER.indexOf(one.channel.role) - ORDER.indexOf(other.channel.role));
}

/** Series that are not drawn until they are asked for: other planes, where they are no sign by themselves. */
export function hiddenAtFirst(trial: TrialAnswer): Set<string> {
  const aside = (channel: Channel): boolean =>
    (channel.plane !== null && channel.plane !== "horizontal" && !(STILL.has(trial.kind) && channel.role !== "eye" && channel.role !== "slow")) ||
    (channel.role === "eye" && channel.plane === "horizontal" && !hasBoth(trial));
  return new Set(trial.channels.filter(aside).map((channel) => channel.id));
}

function hasBoth(trial: TrialAnswer): boolean {
  const eyes = trial.channels.filter((channel) => channel.role === "eye" && channel.plane === "horizontal");
  return eyes.length > 1 || !trial.channels.some((channel) => channel.role === "position");
}

const NAMES: Readonly<Record<string, Key>> = {
  position: "line.position", slow: "line.slow", median: "line.median", fit: "line.fit", head: "line.head", target: "line.target",
};

/** Kinds in which the head is moved by hand, or moves by itself. */
const BY_HAND = new Set(["impulse", "head-shaking", "positional"]);

function lineName(channel: Channel, kind: string): string {
  if (channel.role === "eye" && channel.side) return t(channel.side === "left" ? "line.left_eye" : "line.right_eye");
  if (channel.role === "head" && BY_HAND.has(kind)) return t("line.moved_head");
  const name = NAMES[channel.role];
  return name ? t(name) : channel.label;
}

/** The short name where lines of several planes stand in a row. */
export function nameAndPlane({ channel, name }: Series): string {
  if (channel.plane === "vertical") return t("line.vertical", { name });
  return channel.plane === "torsional" ? t("line.torsional", { name }) : name;
}

const ACROSS = [5, 3];
const DOTS = [2.5, 3];

/** How a channel is drawn, in CSS pixels. */
export function strokeOf(channel: Channel, palette: Palette): Stroke {
  const dash = channel.plane === "vertical" ? { dash: ACROSS } : channel.plane === "torsional" ? { dash: DOTS } : {};
  switch (channel.role) {
    case "eye":
      return { colour: channel.side === "left" ? palette.left : palette.right, width: 1, ...dash };
    case "position":
      return { colour: palette.ink, width: 1.1, ...dash };
    case "slow":
      return { colour: palette.slow, width: 1, alpha: 0.32, ...dash };
    case "median":
      return { colour: channel.plane === "horizontal" ? palette.slow : palette.ink, width: 1.8, ...dash };
    case "fit":
      return { colour: palette.fit, width: 2, ...dash };
    case "head":
      return { colour: palette.faint, width: 1.2, dash: DOTS };
    default:
      return { colour: palette.faint, width: 1, dash: ACROSS };
  }
}
