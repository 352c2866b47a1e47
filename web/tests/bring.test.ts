import { expect, test } from "vitest";
import type { Told } from "../src/api/further_types";
import { isUnsure, rowsOf, signsOf, withColumn, withKey, withNewTrial, withRole } from "../src/pages/bring/description";
import { ImportDesk } from "../src/pages/bring/import_desk";
import { shareSent } from "../src/pages/bring/sending";
import { sessionsOf } from "../src/pages/bring/sessions_of";

const given = (...paths: string[]) => paths.map((path) => ({ path, file: new File(["x"], path) }));
const paths = (files: readonly { path: string }[]) => files.map(({ path }) => path);

test("a dropped folder is one session, without the folder's own name", () => {
  const { parcels, alone } = sessionsOf(given("mine/a.csv", "mine/deep/b.csv", "mine/.hidden"));
  expect(parcels.map(({ name, files }) => [name, paths(files)])).toEqual([["mine", ["a.csv", "deep/b.csv"]]]);
  expect(alone).toEqual([]);
});

test("several sessions at once are parted by their session.toml, and what belongs to none is told", () => {
  const { parcels, alone } = sessionsOf(given("all/one/session.toml", "all/one/t/a.csv", "all/two/session.toml", "all/two/a.csv", "all/stray.csv"));
  expect(parcels.map(({ name, files }) => [name, paths(files)])).toEqual([
    ["all/one", ["session.toml", "t/a.csv"]],
    ["all/two", ["session.toml", "a.csv"]],
  ]);
  expect(paths(alone)).toEqual(["all/stray.csv"]);
});

test("folders whose names begin alike are not taken for one another", () => {
  const { parcels } = sessionsOf(given("a/session.toml", "ab/session.toml", "ab/x.csv"));
  expect(parcels.map(({ files }) => files.length)).toEqual([1, 2]);
});

const told: Told = {
  code: "Z-9",
  columns: [
    { role: "time", name: "t", unit: "s", confidence: 0.9, reasons: ["rises"] },
    { role: "eye_h_right", name: "x", unit: "deg", confidence: 0.4, reasons: ["a guess"] },
  ],
  trials: [{ id: "trial-2", kind: "sinusoid", file: "a.csv", stimulus: { frequency_hz: 0.1 } }],
};

test("every column of the file has its row, mapped or not, and mapped ones of other files too", () => {
  expect(rowsOf(told.columns ?? [], ["t", "y"]).map(({ name, at }) => [name, at])).toEqual([["t", 0], ["y", null], ["x", 1]]);
});

test("a role has one column: another one loses it, and what a person set counts as sure", () => {
  const row = rowsOf(told.columns ?? [], ["t", "x", "y"])[2];
  const next = withRole(told, row!, "eye_h_right", ["t", "x", "y"], ["deg", "rad"]);
  expect(next.columns?.map(({ role, name, unit }) => [role, name, unit])).toEqual([["time", "t", "s"], ["eye_h_right", "y", null]]);
  expect(isUnsure(told.columns?.[1]?.confidence)).toBe(true);
  expect(isUnsure(withColumn(told, 1, { unit: "rad" }).columns?.[1]?.confidence)).toBe(false);
});

test("columns of a file without headers are named by number", () => {
  const row = rowsOf([], ["1", "2"])[1];
  expect(withRole({ columns: [] }, row!, "time", ["1", "2"], ["s", "ms"]).columns?.[0]?.name).toBe(2);
});

test("a key of the stimulus is set and goes again; a new trial has a name of its own", () => {
  expect(withKey(told, 0, "cycles", 4).trials?.[0]?.stimulus).toEqual({ frequency_hz: 0.1, cycles: 4 });
  expect(withKey(told, 0, "frequency_hz", null).trials?.[0]?.stimulus).toEqual({});
  expect(withNewTrial(told, "b.csv", "other").trials?.at(-1)?.id).toBe("trial-3");
});

test("vertical channels count up or down, horizontal ones right or left, time neither", () => {
  expect([signsOf("eye_v_left")[0], signsOf("head_velocity")[0], signsOf("time").length]).toEqual(["up", "right", 0]);
});

test("the share that is sent counts bytes, refused files among what is done", () => {
  const one = { path: "a", bytes: 99, sent: 50, state: "going" as const, error: null };
  expect(shareSent([one, { ...one, state: "refused" }])).toBeCloseTo(0.75);
  expect(shareSent([])).toBe(1);
});

test("corrections go one call at a time and the last state wins", async () => {
  const calls: Told[] = [];
  const answer = (description: Told) => ({ description }) as never;
  const desk = new ImportDesk("i", {
    readImport: () => Promise.resolve(answer({ code: "" })),
    chooseMap: () => Promise.resolve(answer({ code: "", columns: [{ role: "time", name: "z" }] })),
    describeImport: async (_, sent) => {
      calls.push(sent);
      await new Promise((wake) => setTimeout(wake, 5));
      return answer(sent);
    },
  });
  await desk.load();
  desk.change((now) => ({ ...now, code: "A" }));
  const first = desk.save();
  desk.change((now) => ({ ...now, code: "AB" }));
  await Promise.all([first, desk.save()]);
  expect(calls.map(({ code }) => code)).toEqual(["A", "AB"]);
  expect(desk.view.value.saving).toBe("saved");
  await desk.useMap("old");
  await desk.save();
  expect(calls.at(-1)).toMatchObject({ code: "AB", columns: [{ name: "z" }] });
});
