import type { SessionView } from "../../state/session";
import { patientsPath } from "../../app/paths";
import { PageHead } from "../../parts/PageHead";
import { Trouble } from "../../parts/Trouble";
import { fixed } from "../../format/number";
import { t } from "../../text/text";

/** While a session is read or measured for the first time, or when that failed. */
export function Waiting({ view }: { readonly view: SessionView }) {
  const code = view.answer?.patient_code;
  return (
    <>
      <PageHead title={code ? t("session.of", { code }) : t("session.title")} crumbs={[{ href: patientsPath(), label: t("nav.patients") }]} />
      <What view={view} />
    </>
  );
}

function What({ view }: { readonly view: SessionView }) {
  const { failure, job } = view;
  if (failure) return <Trouble error={failure} />;
  if (!job) return <p class="waiting">{t("session.loading")}</p>;
  if (job.state === "failed" && job.error) {
    return <div class="trouble" role="alert"><p><strong>{t("session.not_measured")}</strong> {job.error.message}</p></div>;
  }
  return (
    <div class="waiting">
      <p id="measuring">{t("session.measuring", { what: job.what })}</p>
      <progress aria-labelledby="measuring" max={1} value={job.share} />
      <p class="hint">{t("session.share", { share: fixed(100 * job.share, 0) })}</p>
    </div>
  );
}
