/** A window of traces as the server encodes it, for tests. */
export interface Encoded {
  readonly low: readonly number[];
  readonly high: readonly number[];
  readonly missing: readonly number[];
}

export function encodedWindow(
  told: { readonly start_s: number; readonly step_s: number; readonly exact: boolean },
  channels: Readonly<Record<string, Encoded>>,
): ArrayBuffer {
  const lists = Object.values(channels);
  const columns = lists[0]?.low.length ?? 0;
  const header = new TextEncoder().encode(JSON.stringify({ ...told, columns, channels: Object.keys(channels) }));
  const length = 4 * Math.ceil(header.length / 4);
  const pad = 4 * Math.ceil(columns / 4);
  const buffer = new ArrayBuffer(4 + length + lists.length * (8 * columns + pad));
  new DataView(buffer).setUint32(0, length, true);
  new Uint8Array(buffer, 4, length).fill(32).set(header);
  lists.forEach((list, index) => {
    const at = 4 + length + index * (8 * columns + pad);
    new Float32Array(buffer, at, columns).set(list.low);
    new Float32Array(buffer, at + 4 * columns, columns).set(list.high);
    new Uint8Array(buffer, at + 8 * columns, columns).set(list.missing);
  });
  return buffer;
}
