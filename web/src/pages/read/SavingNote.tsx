import { Trouble } from "../../parts/Trouble";
import { clock } from "../../format/date";
import { type DraftKeeper } from "../../state/draft";
import { useStore } from "../../state/store";
import { askWho } from "../../state/who";
import { t } from "../../text/text";

/** Where the draft is: here, on its way, or kept by the server. */
export function SavingNote({ keeper, signed }: { readonly keeper: DraftKeeper; readonly signed: boolean }) {
  const { saving, savedAt, error } = useStore(keeper.view);
  const text = saving === "saved" ? (savedAt ? t("saving.saved_at", { at: clock(savedAt) }) : t("saving.saved")) : t(`saving.${saving}`);
  return (
    <>
      <p class="saving" role="status">{!signed && <strong>{t("state.draft")}</strong>} {text}{" "}
        {saving === "nameless" && <button type="button" onClick={() => void askWho()}>{t("who.unknown")}</button>}
        {(saving === "unsaved" || saving === "refused") && <button type="button" class="quiet" onClick={() => void keeper.save()}>{t("saving.again")}</button>}
      </p>
      {saving === "refused" && <Trouble error={error} title={t("saving.refused_title")} />}
    </>
  );
}
