/** The keys of the trial page; `app/keys.ts` tells them to the reader. */
import { useEffect } from "preact/hooks";
import { announce } from "../../app/announce";
import { isTyping } from "../../app/HelpDialog";
import { trialPath } from "../../app/paths";
import { go } from "../../app/router";
import { fixed } from "../../format/number";
import type { Ready } from "../../state/use_session";
import { singleKeys } from "../../state/single_keys";
import { t } from "../../text/text";
import type { TraceModel } from "../../traces/model";
import { stepOf } from "../../traces/values_at";
import { reasonWord } from "./reading_off";
import type { Correction } from "./correction";

const PAN = 0.12;
const ZOOM = 1.35;
const FAR = 20;
const TALLER = 1.25;

type Act = () => void;

export function useTraceKeys(ready: Ready, model: TraceModel, correction: Correction): void {
  useEffect(() => {
    const plain = plainKeys(ready, model, correction);
    const pressed = (event: KeyboardEvent): void => {
      if (event.defaultPrevented || document.querySelector("dialog[open]") || isTyping(event.target)) return;
      const act = event.ctrlKey || event.metaKey ? withControl(event, ready, correction) : plainAct(event, plain);
      if (!act) return;
      event.preventDefault();
      act();
    };
    addEventListener("keydown", pressed);
    return () => removeEventListener("keydown", pressed);
  }, [ready, model, correction]);
}

/** Keys that type nothing act always; letters and signs only where single keys are on. */
function plainAct(event: KeyboardEvent, keys: ReadonlyMap<string, Act>): Act | undefined {
  if (event.altKey || isControl(event)) return undefined;
  if (event.key.length === 1 && !singleKeys.value) return undefined;
  return keys.get((event.key.length > 1 && event.shiftKey ? "Shift " : "") + event.key);
}

/** Arrows, Home and the page keys belong to tabs, radio buttons and what scrolls, while the focus is there. */
function isControl(event: KeyboardEvent): boolean {
  const target = event.target;
  return target instanceof HTMLElement && /^(Arrow|Home|End|Page)/.test(event.key) && target.closest(".side, [type=radio], select, summary") !== null;
}

function withControl(event: KeyboardEvent, { desk, answer }: Ready, correction: Correction): Act | undefined {
  const key = event.key.toLowerCase();
  const redoes = key === "y" || (key === "z" && event.shiftKey);
  if (redoes && answer.edits.can_redo) return () => void desk.redo().then((outcome) => correction.tell(outcome));
  if (key === "z" && !redoes && answer.edits.can_undo) return () => void desk.undo().then((outcome) => correction.tell(outcome));
  return undefined;
}

function plainKeys(ready: Ready, model: TraceModel, correction: Correction): ReadonlyMap<string, Act> {
  return new Map([...moves(model), ...cursorKeys(model, correction), ...jumps(ready, model), ...corrections(model, correction)]);
}

function moves(model: TraceModel): [string, Act][] {
  return [
    ["ArrowLeft", () => model.pan(-PAN)],
    ["ArrowRight", () => model.pan(PAN)],
    ["Shift ArrowLeft", () => model.pan(-0.9)],
    ["Shift ArrowRight", () => model.pan(0.9)],
    ["Shift ArrowUp", () => model.stretch(TALLER)],
    ["Shift ArrowDown", () => model.stretch(1 / TALLER)],
    ["+", () => model.zoom(1 / ZOOM)],
    ["=", () => model.zoom(1 / ZOOM)],
    ["-", () => model.zoom(ZOOM)],
    ["0", () => model.showWhole()],
    ["Home", () => model.toStart()],
    ["End", () => model.toEnd()],
  ];
}

function cursorKeys(model: TraceModel, correction: Correction): [string, Act][] {
  const step = (steps: number) => (): void => {
    model.step(steps * stepOf(correction.drawn.value, model.trial.sampling_hz));
    announce(t("traces.at", { at: fixed(model.state.value.cursor_s, 3) }));
  };
  const edge = (which: "start" | "stop") => (): void => {
    model.setEdge(which);
    announce(t(which === "start" ? "correct.from_set" : "correct.to_set", { at: fixed(model.state.value.cursor_s, 3) }));
  };
  return [[",", step(-1)], [".", step(1)], ["<", step(-FAR)], [">", step(FAR)], ["[", edge("start")], ["]", edge("stop")]];
}

function jumps({ answer, document }: Ready, model: TraceModel): [string, Act][] {
  const beat = (direction: 1 | -1) => (): void => {
    const found = model.stepBeat(direction);
    announce(found ? t("traces.beat_at", { at: fixed(found.start_s, 3), size: fixed(found.amplitude_deg, 1) }) : t("traces.no_beat"));
  };
  const unused = (direction: 1 | -1) => (): void => {
    const found = model.stepUnused(direction);
    announce(found ? t("traces.unused_at", { reason: reasonWord(found.reason), start: fixed(found.start_s, 2), stop: fixed(found.stop_s, 2) }) : t("traces.no_unused"));
  };
  const trial = (step: 1 | -1) => (): void => {
    const at = document.trials.findIndex((one) => one.id === model.trial.id);
    const next = document.trials[at + step];
    if (!next) return;
    go(trialPath(answer.session.id, next.id));
    announce(t("trial.title", { trial: next.id }));
  };
  return [["q", beat(1)], ["Q", beat(-1)], ["u", unused(1)], ["U", unused(-1)], ["PageDown", trial(1)], ["PageUp", trial(-1)]];
}

function corrections(model: TraceModel, correction: Correction): [string, Act][] {
  const nothing = (): void => {
    model.chooseNothing();
    correction.giveUp();
  };
  return [
    ["x", () => correction.proposeExclusion()],
    ["a", () => correction.proposeBeat()],
    ["d", () => correction.proposeNoBeat()],
    ["Escape", nothing],
  ];
}
