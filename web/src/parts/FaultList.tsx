import { Refused } from "../api/errors";
import { t } from "../text/text";
import { Trouble } from "./Trouble";

/** Everything that is wrong with a text, each with its line, as the server words it. */
export function FaultList({ error }: { readonly error: unknown }) {
  const problems = error instanceof Refused ? (error.body.problems ?? []) : [];
  if (!problems.length) return <Trouble error={error} />;
  return (
    <div class="trouble" role="alert">
      <p><strong>{t("faults.title", { count: problems.length })}</strong></p>
      <ul class="small" aria-label={t("faults.title", { count: problems.length })}>
        {problems.map((problem, index) => (
          <li key={index}>{problem.message}</li>
        ))}
      </ul>
    </div>
  );
}
