import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Link } from "../parts/Link";
import { about } from "../state/about";
import { useStore } from "../state/store";
import { askWho, who } from "../state/who";
import { t } from "../text/text";
import { said } from "./announce";
import { ConnectionBar } from "./ConnectionBar";
import { HelpDialog, helpShown } from "./HelpDialog";
import { NAV } from "./nav";
import { place } from "./router";
import { SettingsDialog } from "./SettingsDialog";
import { WhoDialog } from "./WhoDialog";

/** What surrounds every page: the way past it, the bar, who works here, the cautions. */
export function Shell({ children }: { readonly children: ComponentChildren }) {
  return (
    <>
      <a class="skip" href="#main" onClick={skip}>{t("app.skip")}</a>
      <Bar />
      <ConnectionBar />
      <main id="main" tabIndex={-1}>{children}</main>
      <Foot />
      <LiveRegion />
      <WhoDialog />
      <HelpDialog />
    </>
  );
}

/** The address keeps its place; only the focus moves. */
function skip(event: MouseEvent): void {
  event.preventDefault();
  document.getElementById("main")?.focus();
}

function Bar() {
  const { path } = useStore(place);
  return (
    <header class="bar">
      <Link href="/" class="mark" aria-label={t("app.home")}>
        <svg viewBox="0 0 24 24" aria-hidden="true" class="mark-sign"><path d="M2 18 8 7v11l6-11v11l6-11" /></svg>
        <span>{t("app.name")}</span>
      </Link>
      <nav aria-label={t("nav.label")}>
        {NAV.map(({ href, label, within }) => (
          <Link key={href} href={href} aria-current={within.test(path) ? "page" : undefined}>{t(label)}</Link>
        ))}
      </nav>
      <div class="bar-end"><Tools /></div>
    </header>
  );
}

function Tools() {
  const name = useStore(who);
  const [settings, setSettings] = useState(false);
  return (
    <>
      <button type="button" class="quiet" onClick={() => void askWho()}>{name ? t("who.working", { name }) : t("who.unknown")}</button>
      <button type="button" class="quiet" onClick={() => setSettings(true)}>{t("settings.open")}</button>
      <button type="button" class="quiet" onClick={() => helpShown.set(true)} aria-keyshortcuts="?">{t("help.open")} <kbd aria-hidden="true">?</kbd></button>
      {settings && <SettingsDialog onClose={() => setSettings(false)} />}
    </>
  );
}

function Foot() {
  const known = useStore(about);
  return (
    <footer class="foot">
      <p>{known?.cautions.slice(0, 2).join(" ") ?? t("app.caution")}</p>
      {known && <p>{t("app.version", { version: known.version, folder: known.data_folder_name })}</p>}
    </footer>
  );
}

function LiveRegion() {
  const { text, number } = useStore(said);
  return <div class="unseen" role="status" aria-live="polite"><span key={number}>{text}</span></div>;
}
