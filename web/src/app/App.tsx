import { useEffect, useState } from "preact/hooks";
import { connection } from "../api/connection";
import { about, loadAbout } from "../state/about";
import { useStore } from "../state/store";
import { t } from "../text/text";
import { match } from "./match";
import { place } from "./router";
import { ROUTES } from "./routes";
import { Shell } from "./Shell";
import { Trouble } from "../parts/Trouble";

/** The page at the address, within what all pages share. */
export function App() {
  const token = useStore(connection);
  if (token === "no-token" || token === "wrong-token") return <Shell><NoToken wrong={token === "wrong-token"} /></Shell>;
  return <Shell><Ready /></Shell>;
}

function Ready() {
  const known = useStore(about);
  const state = useStore(connection);
  const [error, setError] = useState<unknown>(null);
  useEffect(() => {
    if (!known && state === "fine") loadAbout().then(() => setError(null), setError);
  }, [known, state]);
  if (known) return <Page />;
  return error ? <Trouble error={error} /> : <p class="waiting">{t("app.starting")}</p>;
}

function Page() {
  const { path, query } = useStore(place);
  for (const { pattern, page: Found } of ROUTES) {
    const params = match(pattern, path);
    if (params) return <Found key={pattern} params={params} query={query} />;
  }
  return <NotHere />;
}

function NotHere() {
  return (
    <section class="sheet">
      <h1 tabIndex={-1}>{t("missing.title")}</h1>
      <p>{t("missing.text")}</p>
    </section>
  );
}

function NoToken({ wrong }: { readonly wrong: boolean }) {
  return (
    <section class="sheet">
      <h1 tabIndex={-1}>{t(wrong ? "token.wrong_title" : "token.title")}</h1>
      <p class="prose">{t(wrong ? "token.wrong_text" : "token.text")}</p>
    </section>
  );
}
