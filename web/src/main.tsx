import { render } from "preact";
import { findToken } from "./api/connection";
import { App } from "./app/App";
import { followHistory } from "./app/router";
import "./style/base.css";
import "./style/parts.css";
import "./style/pages.css";
import "./style/trial.css";
import "./style/further.css";
import "./style/print.css";

async function start(): Promise<void> {
  followHistory();
  await findToken();
  const root = document.getElementById("app");
  if (root) render(<App />, root);
}

void start();
