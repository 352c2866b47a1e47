import { Lost, Refused } from "../api/errors";
import { t } from "../text/text";

/** What went wrong, in one clear sentence, with what was found and what would be right. */
export function Trouble({ error, title }: { readonly error: unknown; readonly title?: string }) {
  if (!error) return null;
  return (
    <div class="trouble" role="alert">
      <p><strong>{title ?? t("trouble.title")}</strong> {sentenceOf(error)}</p>
      {error instanceof Refused && <Details error={error} />}
    </div>
  );
}

/** The sentence alone. */
export function sentenceOf(error: unknown): string {
  if (error instanceof Lost) return t("trouble.lost");
  if (error instanceof Refused) return error.body.message || t("trouble.refused", { status: error.status });
  return t("trouble.page", { message: error instanceof Error ? error.message : String(error) });
}

function Details({ error }: { readonly error: Refused }) {
  const { found, expected, problems } = error.body;
  return (
    <>
      {(found || expected) && (
        <p class="small">
          {found && t("trouble.found", { found })} {expected && t("trouble.expected", { expected })}
        </p>
      )}
      {!!problems?.length && <ul class="small">{problems.map((problem) => <li key={problem.message}>{problem.message}</li>)}</ul>}
    </>
  );
}
