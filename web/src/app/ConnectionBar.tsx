import { useEffect } from "preact/hooks";
import { about as ask } from "../api/calls";
import { connection } from "../api/connection";
import { useStore } from "../state/store";
import { t } from "../text/text";
import { announce } from "./announce";

const RETRY_MS = 2000;

/** Says when the server does not answer, and goes on asking until it does. */
export function ConnectionBar() {
  const state = useStore(connection);
  useEffect(() => {
    if (state !== "lost") return;
    const timer = setInterval(() => {
      ask().then(() => announce(t("connection.back")), () => undefined);
    }, RETRY_MS);
    return () => clearInterval(timer);
  }, [state]);
  if (state !== "lost") return null;
  return <div class="connection" role="alert"><strong>{t("connection.lost")}</strong> {t("connection.kept")}</div>;
}
