import type { Channel, TrialAnswer } from "../../api/types";
import { usePart } from "../../state/store";
import { type Key, t } from "../../text/text";
import type { TraceModel } from "../../traces/model";
import { type Series, seriesOf } from "../../traces/series";

interface ToolsProps {
  readonly trial: TrialAnswer;
  readonly model: TraceModel;
}

/** What the keys do, as buttons. */
export function Moves({ model }: { readonly model: TraceModel }) {
  const drag = usePart(model.state, (state) => state.drag);
  const tool = (label: string, sign: string, act: () => void, keys: string) => (
    <button type="button" class="tool" onClick={act} aria-label={label} title={t("tools.with_key", { label, keys })} aria-keyshortcuts={keys}>
      <span aria-hidden="true">{sign}</span>
    </button>
  );
  return (
    <div class="tool-row" role="toolbar" aria-label={t("tools.label")}>
      {tool(t("tools.left"), "←", () => model.pan(-0.5), "ArrowLeft")}
      {tool(t("tools.right"), "→", () => model.pan(0.5), "ArrowRight")}
      {tool(t("tools.in"), "+", () => model.zoom(0.5), "+")}
      {tool(t("tools.out"), "−", () => model.zoom(2), "-")}
      {tool(t("tools.whole"), "↔", () => model.showWhole(), "0")}
      {tool(t("tools.taller"), "↕", () => model.stretch(1.5), "Shift+ArrowUp")}
      {tool(t("tools.flatter"), "⇳", () => model.stretch(1 / 1.5), "Shift+ArrowDown")}
      <span class="tool-pair">
        {tool(t("tools.beat_before"), "‹", () => model.stepBeat(-1), "Shift+Q")}
        <span aria-hidden="true">{t("tools.beat")}</span>
        {tool(t("tools.beat_after"), "›", () => model.stepBeat(1), "Q")}
      </span>
      <span class="tool-pair">
        {tool(t("tools.unused_before"), "‹", () => model.stepUnused(-1), "Shift+U")}
        <span aria-hidden="true">{t("tools.unused")}</span>
        {tool(t("tools.unused_after"), "›", () => model.stepUnused(1), "U")}
      </span>
      <button type="button" class="tool" aria-pressed={drag === "choose"} onClick={() => model.dragTo(drag === "choose" ? "move" : "choose")} title={t("tools.choose_hint")}>
        {t("tools.choose")}
      </button>
    </div>
  );
}

/** Which lines are drawn: the horizontal ones in a row, other planes behind a fold. */
export function Lines({ trial, model }: ToolsProps) {
  const hidden = usePart(model.state, (state) => state.hidden);
  const all = seriesOf(trial);
  const flat = all.filter(isFlat);
  const others = all.filter((series) => !isFlat(series));
  const ofPlane = (plane: string): Series[] => others.filter(({ channel }) => channel.plane === plane);
  return (
    <div class="lines">
      <Group legend="tools.horizontal" lines={flat} hidden={hidden} model={model} quiet />
      {others.length > 0 && (
        <details class="other-planes" open={others.some(({ channel }) => !hidden.has(channel.id))}>
          <summary>{t("tools.other_planes")}</summary>
          <Group legend="tools.vertical" lines={ofPlane("vertical")} hidden={hidden} model={model} />
          <Group legend="tools.torsional" lines={ofPlane("torsional")} hidden={hidden} model={model} />
        </details>
      )}
    </div>
  );
}

function isFlat({ channel }: Series): boolean {
  return channel.plane === null || channel.plane === "horizontal";
}

interface GroupProps {
  readonly legend: Key & ("tools.horizontal" | "tools.vertical" | "tools.torsional");
  readonly lines: readonly Series[];
  readonly hidden: ReadonlySet<string>;
  readonly model: TraceModel;
  readonly quiet?: boolean;
}

function Group({ legend, lines, hidden, model, quiet = false }: GroupProps) {
  if (!lines.length) return null;
  return (
    <fieldset class="line-group">
      <legend class={quiet ? "unseen" : undefined}>{t(legend)}</legend>
      {lines.map(({ channel, name }) => (
        <label key={channel.id} class="line" title={channel.label}>
          <input type="checkbox" checked={!hidden.has(channel.id)} onChange={() => model.toggle(channel.id)} />
          <Sample channel={channel} />
          {name}
        </label>
      ))}
    </fieldset>
  );
}

function Sample({ channel }: { readonly channel: Channel }) {
  const side = channel.role === "eye" ? ` ${channel.side ?? "right"}` : "";
  return (
    <svg class={`sample ${channel.role}${side} ${channel.plane ?? ""}`} viewBox="0 0 18 8" aria-hidden="true">
      <path d="M0 4H18" />
    </svg>
  );
}
