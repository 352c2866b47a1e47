/** One call to the server: the token goes with it, and what fails is one of two errors. */
import { connection, currentToken } from "./connection";
import { type ErrorBody, isGivenUp, Lost, Refused } from "./errors";

export interface Sent {
  readonly body?: unknown;
  readonly signal?: AbortSignal | undefined;
}

/** The answer as JSON. */
export async function call<Answer>(method: string, path: string, sent: Sent = {}): Promise<Answer> {
  const response = await fetched(method, path, sent);
  return (response.status === 204 ? undefined : await response.json()) as Answer;
}

/** The answer as bytes. */
export async function bytesOf(path: string, signal?: AbortSignal): Promise<ArrayBuffer> {
  return (await fetched("GET", path, { signal })).arrayBuffer();
}

/** The answer as bytes to something that is told. */
export async function postedBytes(path: string, body: unknown): Promise<ArrayBuffer> {
  return (await fetched("POST", path, { body })).arrayBuffer();
}

/** The answer as text, with the header that the caller asks for. */
export async function textOf(path: string, signal?: AbortSignal): Promise<{ text: string; headers: Headers }> {
  const response = await fetched("GET", path, { signal });
  return { text: await response.text(), headers: response.headers };
}

/** The answer as a file of its own type. */
export async function fileOf(path: string): Promise<Blob> {
  return (await fetched("GET", path, {})).blob();
}

async function fetched(method: string, path: string, sent: Sent): Promise<Response> {
  const response = await answer(method, path, sent);
  if (response.ok) return response;
  const error = new Refused(response.status, await bodyOf(response));
  if (response.status === 401) connection.set("wrong-token");
  throw error;
}

async function answer(method: string, path: string, sent: Sent): Promise<Response> {
  const headers: Record<string, string> = { Authorization: `Bearer ${currentToken()}` };
  if (sent.body !== undefined) headers["Content-Type"] = "application/json";
  try {
    const response = await fetch(path, {
      method,
      headers,
      cache: "no-store",
      body: sent.body === undefined ? null : JSON.stringify(sent.body),
      signal: sent.signal ?? null,
    });
    if (connection.value === "lost") connection.set("fine");
    return response;
  } catch (error) {
    if (isGivenUp(error)) throw error;
    connection.set("lost");
    throw new Lost(error);
  }
}

async function bodyOf(response: Response): Promise<ErrorBody> {
  const nothing = { code: `http_${response.status}`, message: response.statusText, found: null, expected: null, problems: [] };
  try {
    const { error } = (await response.json()) as { error?: ErrorBody };
    return error ?? nothing;
  } catch {
    return nothing;
  }
}
