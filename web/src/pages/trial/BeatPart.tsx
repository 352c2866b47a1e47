import { usePart } from "../../state/store";
import { t } from "../../text/text";
import type { CorrectProps } from "./CorrectPanel";
import { beatWords } from "./trace_words";

/** The chosen quick phase: what it is, and that it is none. */
export function BeatPart({ model, correction }: CorrectProps) {
  usePart(model.state, (state) => state.beat_s);
  const beat = model.beat;
  return (
    <section class="part" aria-labelledby="beat">
      <h2 id="beat">{t("beat.title")}</h2>
      <p class="hint">
        {beat ? beatWords(beat) : t("beat.none")}
        {beat?.by_hand && ` ${t("beat.by_hand")}`}
      </p>
      <p class="actions">
        <button type="button" onClick={() => model.stepBeat(-1)} aria-keyshortcuts="Shift+Q">{t("beat.previous")}</button>
        <button type="button" onClick={() => model.stepBeat(1)} aria-keyshortcuts="Q">{t("beat.next")}</button>
        <button type="button" disabled={!beat} onClick={() => correction.proposeNoBeat()} aria-keyshortcuts="D">{t("beat.refuse")}</button>
      </p>
    </section>
  );
}
