/** Whether the server answers, and the token of its launch. */
import { Store } from "../state/store";

export type Connection = "fine" | "lost" | "no-token" | "wrong-token";

const KEY = "slowphase.token";
const HELLO = "slowphase.token";
const ASK_MS = 400;

export const connection = new Store<Connection>("fine");

let token = "";

export function currentToken(): string {
  return token;
}

/** Take the token out of the address, from this tab's memory, or from another tab of this launch. */
export async function findToken(): Promise<boolean> {
  token = fromAddress() ?? sessionStorage.getItem(KEY) ?? (await fromOtherTab()) ?? "";
  if (token) {
    sessionStorage.setItem(KEY, token);
    answerOtherTabs();
  } else {
    connection.set("no-token");
  }
  return token !== "";
}

function fromAddress(): string | null {
  const given = new URLSearchParams(location.hash.slice(1)).get("token");
  if (given) history.replaceState(null, "", location.pathname + location.search);
  return given;
}

/** A tab opened by hand has no memory; only pages of this very address can be asked. */
function fromOtherTab(): Promise<string | null> {
  return new Promise((found) => {
    const channel = new BroadcastChannel(HELLO);
    const done = (answer: string | null): void => {
      channel.close();
      found(answer);
    };
    const timer = setTimeout(() => done(null), ASK_MS);
    channel.onmessage = (event: MessageEvent<{ token?: string }>) => {
      if (typeof event.data.token !== "string") return;
      clearTimeout(timer);
      done(event.data.token);
    };
    channel.postMessage({ ask: true });
  });
}

function answerOtherTabs(): void {
  const channel = new BroadcastChannel(HELLO);
  channel.onmessage = (event: MessageEvent<{ ask?: boolean }>) => {
    if (event.data.ask) channel.postMessage({ token });
  };
}
