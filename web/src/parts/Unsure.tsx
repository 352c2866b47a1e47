import { t } from "../text/text";

/** To be looked at: by shape and word. */
export function Unsure() {
  return (
    <span class="unsure">
      <svg viewBox="0 0 12 12" aria-hidden="true" class="grade-shape"><path d="M6 1 11.5 11H.5Z" fill="none" stroke="currentColor" stroke-width="1.4" /></svg>
      {t("bring.look")}
    </span>
  );
}
