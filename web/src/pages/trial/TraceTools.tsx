import type { Channel, TrialAnswer } from "../../api/types";
import { useStore } from "../../state/store";
import { t } from "../../text/text";
import type { TraceModel } from "../../traces/model";
import { seriesOf } from "../../traces/series";

interface ToolsProps {
  readonly trial: TrialAnswer;
  readonly model: TraceModel;
}

/** What the keys do, as buttons; and which lines are drawn. */
export function TraceTools({ trial, model }: ToolsProps) {
  return (
    <div class="trace-tools">
      <Moves model={model} />
      <Lines trial={trial} model={model} />
    </div>
  );
}

function Moves({ model }: { readonly model: TraceModel }) {
  const { drag } = useStore(model.state);
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

function Lines({ trial, model }: ToolsProps) {
  const { hidden } = useStore(model.state);
  return (
    <fieldset class="lines">
      <legend class="unseen">{t("tools.lines")}</legend>
      {seriesOf(trial).map(({ channel }) => (
        <label key={channel.id} class="line">
          <input type="checkbox" checked={!hidden.has(channel.id)} onChange={() => model.toggle(channel.id)} />
          <Sample channel={channel} />
          {channel.label}
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
