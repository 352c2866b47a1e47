import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { connection } from "../src/api/connection";
import { DraftKeeper } from "../src/state/draft";
import { kept } from "../src/state/kept";
import { deskOf, SessionDesk } from "../src/state/session";
import { setWho } from "../src/state/who";

type Answer = { status: number; body: unknown } | "lost";

let answers: Answer[] = [];
let asked: { method: string; path: string; body: unknown }[] = [];

beforeEach(() => {
  vi.useFakeTimers();
  setWho("R. Doe");
  asked = [];
  answers = [];
  connection.set("fine");
  vi.stubGlobal("fetch", (path: string, sent: RequestInit) => {
    asked.push({ method: sent.method ?? "GET", path, body: typeof sent.body === "string" ? JSON.parse(sent.body) : null });
    const answer = answers.shift() ?? "lost";
    if (answer === "lost") return Promise.reject(new TypeError("refused"));
    return Promise.resolve(new Response(JSON.stringify(answer.body), { status: answer.status }));
  });
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

const settled = (ms = 2000) => vi.advanceTimersByTimeAsync(ms);
const saved = (remark: string): Answer => ({ status: 200, body: { draft: { reworded: {}, dropped: {}, remark }, reading_digest: "d" } });

test("a draft is saved once a moment after the last letter", async () => {
  answers = [saved("ab")];
  const keeper = new DraftKeeper("s1");
  keeper.change((draft) => ({ ...draft, remark: "a" }));
  keeper.change((draft) => ({ ...draft, remark: "ab" }));
  expect(kept("draft.s1", null)).toMatchObject({ remark: "ab" });
  await settled();
  expect(asked).toEqual([{ method: "PUT", path: "/api/sessions/s1/draft", body: { reworded: {}, dropped: {}, remark: "ab", by: "R. Doe" } }]);
  expect(keeper.view.value.saving).toBe("saved");
  expect(kept("draft.s1", null)).toBeNull();
});

test("what a lost server did not take is kept, outlives a reload, and is saved when it is back", async () => {
  answers = ["lost"];
  new DraftKeeper("s2").change((draft) => ({ ...draft, remark: "typed while lost" }));
  await settled();
  const afterReload = new DraftKeeper("s2");
  expect(afterReload.view.value).toMatchObject({ saving: "unsaved", draft: { remark: "typed while lost" } });
  afterReload.begin({ reworded: {}, dropped: {}, remark: "old" });
  answers = [saved("typed while lost"), saved("typed while lost")];
  connection.set("lost");
  connection.set("fine");
  await settled();
  expect(afterReload.view.value).toMatchObject({ saving: "saved", draft: { remark: "typed while lost" } });
});

test("a statement left out without a reason yet is shown as chosen but not sent", async () => {
  answers = [saved("")];
  const keeper = new DraftKeeper("s3");
  keeper.change((draft) => ({ ...draft, dropped: { gain: "" } }));
  await settled();
  expect(asked[0]?.body).toMatchObject({ dropped: {} });
  expect(keeper.view.value.draft.dropped).toEqual({ gain: "" });
});

test("a wording that is empty or as Slowphase wrote it is shown as chosen but not sent", async () => {
  const read = session(0);
  const document = { statements: [{ code: "gain", text: "Low." }, { code: "tilt", text: "Tilted." }], summary: { referrer: "Short." } };
  answers = [{ ...read, body: { ...read.body, document, statement_keys: ["gain", "tilt"] } }, saved("")];
  await deskOf("s4").load();
  const keeper = new DraftKeeper("s4");
  const reworded = { gain: "Low. ", tilt: "", summary: "Short." };
  keeper.change((draft) => ({ ...draft, reworded }));
  await settled();
  expect(asked[1]?.body).toMatchObject({ reworded: {} });
  expect(keeper.view.value.draft.reworded).toEqual(reworded);
  answers = [saved("")];
  keeper.change((draft) => ({ ...draft, reworded: { ...reworded, gain: "Low on the right." } }));
  await settled();
  expect(asked[2]?.body).toMatchObject({ reworded: { gain: "Low on the right." } });
});

const session = (count: number) => ({
  status: 200,
  body: { session: { id: "s4" }, document: { trials: [] }, job: null, edits: { log: [], count, can_undo: false, can_redo: false }, versions: [], reading_digest: "d", signed_as_shown: null },
});
const WISH = { kind: "exclude", trial: "a", values: { start_s: 1, stop_s: 2 } };

test("an edit names the log that was seen; after a conflict the session is read again", async () => {
  const desk = new SessionDesk("s4");
  answers = [session(3)];
  await desk.load();
  answers = [{ status: 409, body: { error: { code: "conflict", message: "Another came first.", problems: [] } } }, session(4)];
  const outcome = await desk.edit(WISH, "talked to the nurse");
  expect(outcome.kind).toBe("conflict");
  expect(asked[1]?.body).toEqual({ ...WISH, by: "R. Doe", reason: "talked to the nurse", expected: 3 });
  expect(desk.view.value.answer?.edits.count).toBe(4);
  expect(desk.view.value.busy).toBe(false);
});

test("an edit that no server answered is told as such and not repeated", async () => {
  const desk = new SessionDesk("s4");
  answers = [session(3)];
  await desk.load();
  answers = ["lost"];
  const outcome = await desk.edit(WISH, "why");
  expect(outcome).toMatchObject({ kind: "failed", error: { name: "Lost" } });
  expect(connection.value).toBe("lost");
  await settled(10_000);
  expect(asked.filter(({ method }) => method === "POST")).toHaveLength(1);
});

test("a signed reading is known again when an edit was undone, and is a draft meanwhile", async () => {
  const desk = new SessionDesk("s4");
  const signed = session(3);
  answers = [{ status: 200, body: { ...signed.body, signed_as_shown: 1 } }];
  await desk.load();
  const changed = (reading_digest: string): Answer => ({ status: 200, body: { edits: signed.body.edits, document: {}, changed: [], statements: {}, trials: [], statement_keys: [], figures: [], reading_digest } });
  answers = [changed("other"), changed("d")];
  await desk.edit(WISH, "why");
  expect(desk.view.value.answer?.signed_as_shown).toBeNull();
  await desk.undo();
  expect(desk.view.value.answer?.signed_as_shown).toBe(1);
});

test("nobody is asked for a name while typing: the draft waits, and is saved when the name is known", async () => {
  setWho("");
  answers = [saved("mine")];
  const keeper = new DraftKeeper("s5");
  keeper.change((draft) => ({ ...draft, remark: "mine" }));
  await settled();
  expect(keeper.view.value.saving).toBe("nameless");
  expect(asked).toEqual([]);
  setWho("R. Doe");
  await settled();
  expect(keeper.view.value.saving).toBe("saved");
});
