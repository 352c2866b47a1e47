import { fixed } from "../../format/number";
import type { TrialAnswer } from "../../api/types";
import { type Store, useStore } from "../../state/store";
import { t } from "../../text/text";
import type { TraceModel } from "../../traces/model";
import { nameAndPlane, seriesOf } from "../../traces/series";
import { lengthOf } from "../../traces/span";
import type { TraceWindow } from "../../traces/window_format";
import { valueText } from "./reading_off";

interface ReadOffProps {
  readonly trial: TrialAnswer;
  readonly model: TraceModel;
  readonly drawn: Store<TraceWindow | null>;
}

/** What stands at the cursor, and how much is in view. */
export function ReadOff({ trial, model, drawn }: ReadOffProps) {
  const { cursor_s, hidden, view } = useStore(model.state);
  const window = useStore(drawn);
  const shown = seriesOf(trial).filter(({ channel }) => !hidden.has(channel.id));
  return (
    <dl class="read-off" aria-label={t("traces.read_off")}>
      <div><dt>{t("traces.time")}</dt><dd>{fixed(cursor_s, 3)} s</dd></div>
      {shown.map((series) => <div key={series.channel.id}><dt>{nameAndPlane(series)}</dt><dd>{valueText(window, series.channel, cursor_s)}</dd></div>)}
      <div class="end">
        <dt>{t("traces.in_view")}</dt>
        <dd>{fixed(view.start_s, 2)}–{fixed(view.stop_s, 2)} s ({fixed(lengthOf(view), 2)} s{window?.exact ? t("traces.exact") : ""})</dd>
      </div>
    </dl>
  );
}
