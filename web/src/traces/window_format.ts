/** The binary format of a window of traces, as the server sends it (little-endian).
 *
 * uint32 length of a JSON header padded to a multiple of 4; the header; then for each channel
 * float32 low[], float32 high[], uint8 missing[] padded to a multiple of 4.
 */

/** One channel: smallest and largest sample of each column, and whether any of its samples is lost. */
export interface Columns {
  readonly low: Float32Array;
  readonly high: Float32Array;
  readonly missing: Uint8Array;
}

export interface TraceWindow {
  readonly start_s: number;
  readonly step_s: number;
  readonly columns: number;
  /** One sample a column: low and high are the same. */
  readonly exact: boolean;
  readonly channels: ReadonlyMap<string, Columns>;
}

interface Header {
  readonly start_s: number;
  readonly step_s: number;
  readonly columns: number;
  readonly exact: boolean;
  readonly channels: readonly string[];
}

/** A window that is not what the header says is refused, never drawn in part. */
export class BadWindow extends Error {}

export function decodeWindow(buffer: ArrayBuffer): TraceWindow {
  const { header, at } = readHeader(buffer);
  const size = channelSize(header.columns);
  const expected = at + size * header.channels.length;
  if (buffer.byteLength !== expected) {
    throw new BadWindow(`a window of ${buffer.byteLength} bytes, where its header asks for ${expected}`);
  }
  const channels = new Map<string, Columns>();
  header.channels.forEach((id, index) => channels.set(id, readColumns(buffer, at + index * size, header.columns)));
  const { start_s, step_s, columns, exact } = header;
  return { start_s, step_s, columns, exact, channels };
}

export function stopOf(window: TraceWindow): number {
  return window.start_s + window.step_s * window.columns;
}

function readHeader(buffer: ArrayBuffer): { header: Header; at: number } {
  if (buffer.byteLength < 4) throw new BadWindow("a window without a header");
  const length = new DataView(buffer).getUint32(0, true);
  if (length % 4 !== 0 || length > buffer.byteLength - 4) throw new BadWindow(`a header of ${length} bytes`);
  const header = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length))) as Header;
  const sound = Number.isInteger(header.columns) && header.columns >= 0 && header.step_s > 0 && Number.isFinite(header.start_s);
  if (!sound || !Array.isArray(header.channels)) throw new BadWindow("a header without start, step or columns");
  return { header, at: 4 + length };
}

function channelSize(columns: number): number {
  return 8 * columns + padded(columns);
}

function padded(bytes: number): number {
  return 4 * Math.ceil(bytes / 4);
}

function readColumns(buffer: ArrayBuffer, at: number, columns: number): Columns {
  return {
    low: new Float32Array(buffer, at, columns),
    high: new Float32Array(buffer, at + 4 * columns, columns),
    missing: new Uint8Array(buffer, at + 8 * columns, columns),
  };
}
