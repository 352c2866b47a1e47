import type { TrialAnswer } from "../../api/types";
import { Tabs } from "../../parts/Tabs";
import { useStore } from "../../state/store";
import type { Ready } from "../../state/use_session";
import { t } from "../../text/text";
import type { TraceModel } from "../../traces/model";
import { ChangeNote } from "./ChangeNote";
import type { Correction } from "./correction";
import { tab, type Tab } from "./correction";
import { CorrectPanel } from "./CorrectPanel";
import { EditList } from "./EditList";
import { MeasurePanel } from "./MeasurePanel";

interface SideProps {
  readonly ready: Ready;
  readonly trial: TrialAnswer;
  readonly model: TraceModel;
  readonly correction: Correction;
  readonly marked: string | null;
}

/** Beside the traces: numbers, corrections, the list of edits. */
export function Side({ ready, trial, model, correction, marked }: SideProps) {
  const chosen = useStore(tab);
  const holding = ready.answer.edits.log.filter((edit) => edit.holds && edit.kind !== "take_back").length;
  const tabs = [
    { name: "measures", label: t("side.measures") },
    { name: "correct", label: t("side.correct") },
    { name: "edits", label: t("side.edits", { number: holding }) },
  ] as const;
  return (
    <section class="side" aria-label={t("side.label")}>
      <Undo ready={ready} correction={correction} />
      <ChangeNote ready={ready} />
      <Tabs<Tab> label={t("side.label")} id="side" tabs={tabs} chosen={chosen} onChoose={(name) => tab.set(name)}>
        {chosen === "measures" && <MeasurePanel document={ready.document} id={trial.id} marked={marked} />}
        {chosen === "correct" && <CorrectPanel ready={ready} trial={trial} model={model} correction={correction} />}
        {chosen === "edits" && <EditList ready={ready} trial={trial.id} correction={correction} />}
      </Tabs>
    </section>
  );
}

function Undo({ ready: { desk, answer, view }, correction }: Pick<SideProps, "ready" | "correction">) {
  const { can_undo, can_redo } = answer.edits;
  return (
    <div class="undo">
      <button type="button" disabled={!can_undo || view.busy} onClick={() => void desk.undo().then((outcome) => correction.tell(outcome))} aria-keyshortcuts="Control+Z">{t("edit.undo")}</button>
      <button type="button" disabled={!can_redo || view.busy} onClick={() => void desk.redo().then((outcome) => correction.tell(outcome))} aria-keyshortcuts="Control+Y">{t("edit.redo")}</button>
      {view.busy && <span class="hint" role="status">{t("edit.busy")}</span>}
    </div>
  );
}
