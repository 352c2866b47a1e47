import { expect, test } from "vitest";
import { between, numbered } from "../src/pages/course/numbering";

test("sessions are numbered by date, those without one left out", () => {
  const sessions = [{ date: "2026-03-01" }, { date: null }, { date: "2026-01-09" }];
  expect(numbered(null, sessions)).toEqual([{ number: 1, date: "2026-01-09" }, { number: 2, date: "2026-03-01" }]);
});

test("the course's own numbers go before those of the list", () => {
  expect(numbered({ sessions: [{ date: "2026-02-02" }] }, [{ date: "2026-01-01" }]).map(({ date }) => date)).toEqual(["2026-02-02"]);
});

test("two different sessions are compared, the earlier first; anything else is the usual", () => {
  expect(between(3, 1)).toEqual([1, 3]);
  expect(between(2, 2)).toBeNull();
  expect(between(null, 1)).toBeNull();
});
