import type { ComponentChildren } from "preact";
import { patientPath, readPath, sessionPath, trialPath } from "../../app/paths";
import type { SessionAnswer } from "../../api/types";
import { day } from "../../format/date";
import { Link } from "../../parts/Link";
import { PageHead } from "../../parts/PageHead";
import { StateMark } from "../../parts/StateMark";
import { t } from "../../text/text";

interface SessionHeadProps {
  readonly answer: SessionAnswer;
  readonly title: string;
  readonly here: "overview" | "trial" | "read";
  /** What stands beside the title, in small letters. */
  readonly facts?: ComponentChildren;
  /** What stands at the end of the row of tabs. */
  readonly children?: ComponentChildren;
}

/** The head of each page of a session: whose it is, where one is, whether it is signed. */
export function SessionHead({ answer, title, here, facts, children }: SessionHeadProps) {
  const { session, patient_code, document } = answer;
  const first = document?.trials[0]?.id;
  const crumbs = [
    { href: "/", label: t("nav.patients") },
    { href: patientPath(session.patient), label: patient_code },
    ...(here === "overview" ? [] : [{ href: sessionPath(session.id), label: sessionLabel(answer) }]),
  ];
  return (
    <>
      <PageHead title={title} crumbs={crumbs} beside={facts}>
        <StateMark answer={answer} />
      </PageHead>
      <div class="tabs">
        <nav aria-label={t("session.nav")}>
          <Link href={sessionPath(session.id)} aria-current={here === "overview" ? "page" : undefined}>{t("session.overview")}</Link>
          {first !== undefined && <Link href={trialPath(session.id, first)} aria-current={here === "trial" ? "page" : undefined}>{t("session.trials")}</Link>}
          <Link href={readPath(session.id)} aria-current={here === "read" ? "page" : undefined}>{t("session.read")}</Link>
        </nav>
        {children}
      </div>
    </>
  );
}

export function sessionLabel({ session }: SessionAnswer): string {
  return [session.date ? day(session.date) : t("session.no_date"), session.title].filter(Boolean).join(", ");
}
