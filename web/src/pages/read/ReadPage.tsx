import { useEffect } from "preact/hooks";
import { guard } from "../../app/router";
import type { PageProps } from "../../app/routes";
import { Problems } from "../../parts/Problems";
import { draftOf } from "../../state/draft";
import { useSession } from "../../state/use_session";
import { useStore } from "../../state/store";
import { t } from "../../text/text";
import { SessionHead } from "../session/SessionHead";
import { Waiting } from "../session/Waiting";
import { Decisions } from "./Decisions";
import { Preview, usePreview } from "./Preview";
import { Remark } from "./Remark";
import { SavingNote } from "./SavingNote";
import { SignForm } from "./SignForm";
import { Versions } from "./Versions";

/** Read, decide on each statement, see the report as it will be, sign. */
export function ReadPage({ params }: PageProps) {
  const id = params["session"] ?? "";
  const { desk, view } = useSession(id);
  const keeper = draftOf(id);
  const { draft, saving } = useStore(keeper.view);
  const { answer } = view;
  const preview = usePreview(id, answer?.reading_digest ?? null);
  useEffect(() => {
    if (answer) keeper.begin(answer.draft);
  }, [answer?.session.id, answer !== null]);
  useEffect(() => leaveWarned(() => saving !== "saved"), [saving]);
  if (!answer?.document) return <Waiting view={view} />;
  const ready = { desk, view, answer, document: answer.document };
  return (
    <>
      <SessionHead answer={answer} title={t("read.title", { patient: answer.patient_code })} here="read" />
      <p class="heed" role="note">{answer.document.cautions[0]}</p>
      <div class="read">
        <div class="column">
          <SavingNote keeper={keeper} signed={answer.signed_as_shown !== null} />
          <Remark draft={draft} document={answer.document} change={(change) => keeper.change(change)} />
          <Decisions ready={ready} draft={draft} change={(change) => keeper.change(change)} />
          <Problems problems={answer.document.problems} />
        </div>
        <div class="column">
          <Preview answer={answer} preview={preview} />
          <SignForm ready={ready} keeper={keeper} preview={preview} />
          <Versions ready={ready} preview={preview} />
        </div>
      </div>
    </>
  );
}

/** While something is not saved, closing the tab asks first; pages within keep it anyway. */
function leaveWarned(unsaved: () => boolean): () => void {
  const warn = (event: BeforeUnloadEvent): void => {
    if (unsaved()) event.preventDefault();
  };
  addEventListener("beforeunload", warn);
  const unguard = guard(() => true);
  return () => {
    removeEventListener("beforeunload", warn);
    unguard();
  };
}
