import { expect, test, vi } from "vitest";
import type { Wish } from "../src/traces/window_plan";
import { type Fetch, WindowSource } from "../src/traces/window_source";
import { encodedWindow } from "./encoded_window";

const WHOLE = { start_s: 0, stop_s: 100 };

/** A server that answers when it is told to. */
function slowServer(): { fetch: Fetch; asked: Wish[]; answer: () => Promise<void> } {
  const asked: Wish[] = [];
  const waiting: (() => void)[] = [];
  const fetch: Fetch = (wish) => {
    asked.push(wish);
    return new Promise((found) => waiting.push(() => found(windowOf(wish))));
  };
  const answer = async (): Promise<void> => {
    waiting.shift()?.();
    await new Promise((done) => setTimeout(done));
  };
  return { fetch, asked, answer };
}

function windowOf({ start_s, stop_s, columns }: Wish): ArrayBuffer {
  const list = Array.from({ length: columns }, () => 0);
  return encodedWindow({ start_s, step_s: (stop_s - start_s) / columns, exact: false }, { eye: { low: list, high: list, missing: list } });
}

test("while a window is on its way only the last wish waits", async () => {
  const server = slowServer();
  const source = new WindowSource(WHOLE, server.fetch, () => undefined, () => undefined);
  expect(source.at(WHOLE, 100)).toBeNull();
  for (const start_s of [10, 20, 30]) source.at({ start_s, stop_s: start_s + 2 }, 100);
  expect(server.asked).toHaveLength(1);
  await server.answer();
  expect(server.asked).toHaveLength(2);
  expect(server.asked[1]?.start_s).toBe(28);
});

test("what is at hand is given at once while better is fetched", async () => {
  const server = slowServer();
  const arrived = vi.fn();
  const source = new WindowSource(WHOLE, server.fetch, arrived, () => undefined);
  source.at(WHOLE, 100);
  await server.answer();
  expect(arrived).toHaveBeenCalledOnce();
  const coarse = source.at({ start_s: 50, stop_s: 52 }, 100);
  expect(coarse).toBe(source.base);
  await server.answer();
  expect(source.at({ start_s: 50, stop_s: 52 }, 100)?.step_s).toBeLessThan(coarse?.step_s ?? 0);
});

test("what was answered is not asked again, however coarse it is", async () => {
  const asked: Wish[] = [];
  const coarse: Fetch = (wish) => {
    asked.push(wish);
    return Promise.resolve(windowOf({ ...wish, columns: 3 }));
  };
  const source = new WindowSource(WHOLE, coarse, () => undefined, () => undefined);
  for (let turn = 0; turn < 5; turn += 1) {
    source.at(WHOLE, 1000);
    await new Promise((done) => setTimeout(done));
  }
  expect(asked).toHaveLength(1);
});

test("a refusal is told, and a closed source asks nothing more", async () => {
  const failed = vi.fn();
  const source = new WindowSource(WHOLE, () => Promise.reject(new Error("no")), () => undefined, failed);
  source.at(WHOLE, 100);
  await new Promise((done) => setTimeout(done));
  expect(failed).toHaveBeenCalledOnce();
  source.close();
  source.at({ start_s: 1, stop_s: 2 }, 100);
  expect(failed).toHaveBeenCalledOnce();
});
