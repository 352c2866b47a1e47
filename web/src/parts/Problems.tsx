import type { Problem } from "../api/types";
import { t } from "../text/text";

/** What is wrong with the input, each in its own sentence. */
export function Problems({ problems }: { readonly problems: readonly Problem[] }) {
  if (!problems.length) return null;
  return (
    <section class="sheet problems" aria-labelledby="problems">
      <h2 id="problems">{t("problems.title", { count: problems.length })}</h2>
      <p class="small">{t("problems.rest")}</p>
      <ul>
        {problems.map((problem) => (
          <li key={`${problem.code}${problem.message}`}>
            {problem.message} <span class="code">{problem.code}</span>
          </li>
        ))}
      </ul>
    </section>
  );
}
