/** Send a file as it is, and tell how much of it has gone. */
import { connection, currentToken } from "./connection";
import { type ErrorBody, Lost, Refused } from "./errors";

export function sendFile(path: string, file: Blob, told: (sent: number) => void, stop: AbortSignal): Promise<void> {
  return new Promise((done, failed) => {
    const request = new XMLHttpRequest();
    request.open("PUT", path);
    request.setRequestHeader("Authorization", `Bearer ${currentToken()}`);
    request.setRequestHeader("Content-Type", "application/octet-stream");
    request.upload.onprogress = (event) => told(event.loaded);
    request.onload = () => (request.status < 300 ? done() : failed(refusal(request)));
    request.onerror = () => {
      connection.set("lost");
      failed(new Lost("upload"));
    };
    request.onabort = () => failed(new DOMException("given up", "AbortError"));
    stop.addEventListener("abort", () => request.abort(), { once: true });
    request.send(file);
  });
}

function refusal(request: XMLHttpRequest): Refused {
  const nothing = { code: `http_${request.status}`, message: request.statusText, found: null, expected: null, problems: [] };
  try {
    const { error } = JSON.parse(request.responseText) as { error?: ErrorBody };
    return new Refused(request.status, error ?? nothing);
  } catch {
    return new Refused(request.status, nothing);
  }
}
