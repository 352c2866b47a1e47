import type { PageProps } from "../../app/routes";
import { Problems } from "../../parts/Problems";
import { useSession } from "../../state/use_session";
import { t } from "../../text/text";
import { Agreements } from "./Agreements";
import { ByHand } from "./ByHand";
import { Criteria } from "./Criteria";
import { Facts } from "./Facts";
import { FunctionFigure } from "./FunctionFigure";
import { InShort } from "./InShort";
import { MoreFigures } from "./MoreFigures";
import { Patterns } from "./Patterns";
import { SessionHead, sessionLabel } from "./SessionHead";
import { Statements } from "./Statements";
import { TrialList } from "./TrialList";
import { Urgent } from "./Urgent";
import { Waiting } from "./Waiting";

/** One session at a glance: what it says, how sure, and where each number comes from. */
export function OverviewPage({ params }: PageProps) {
  const { view } = useSession(params["session"] ?? "");
  const { answer } = view;
  const document = answer?.document;
  if (!answer || !document) return <Waiting view={view} />;
  const seen = { session: answer.session.id, document };
  return (
    <>
      <SessionHead answer={answer} title={`${answer.patient_code}, ${sessionLabel(answer)}`} here="overview" />
      <Facts answer={answer} document={document} />
      <p class="heed" role="note">{document.cautions[0]} <span>{document.cautions[2]}</span></p>
      <Urgent answer={answer} document={document} />
      <div class="overview">
        <div class="words">
          <InShort answer={answer} />
          <Statements {...seen} answer={answer} />
        </div>
        <div class="function"><FunctionFigure {...seen} answer={answer} /></div>
        <div class="pattern-block">
          <Patterns {...seen} />
          <Agreements {...seen} figures={answer.figures} />
          <Criteria {...seen} />
        </div>
        <div class="trials-block">
          <TrialList {...seen} />
          <ByHand {...seen} edits={answer.edits.log} />
          <MoreFigures {...seen} figures={answer.figures} />
          <Problems problems={document.problems} />
          <Limits cautions={document.cautions} />
        </div>
      </div>
    </>
  );
}

function Limits({ cautions }: { readonly cautions: readonly string[] }) {
  return (
    <section class="sheet" aria-labelledby="cautions">
      <h2 id="cautions">{t("cautions.title")}</h2>
      <ul class="small">{cautions.map((caution) => <li key={caution}>{caution}</li>)}</ul>
    </section>
  );
}
