/** The binary answer of a lesson: a header in JSON, then each trial's chair and slow phase. Pure. */
import type { LessonHeader, LessonTrial } from "../../api/further_types";

export interface Shown {
  readonly trial: LessonTrial;
  readonly head_deg_s: Float32Array;
  readonly slow_deg_s: Float32Array;
}

export type Lesson = ReadonlyMap<string, Shown>;

/** A lesson that is not what its header says is refused. */
export class BadLesson extends Error {}

export function decodeLesson(buffer: ArrayBuffer): Lesson {
  const length = buffer.byteLength >= 4 ? new DataView(buffer).getUint32(0, true) : NaN;
  if (!(length % 4 === 0 && length <= buffer.byteLength - 4)) throw new BadLesson(`a header of ${length} bytes`);
  const header = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length))) as LessonHeader;
  const floats = new Float32Array(buffer, 4 + length);
  const asked = header.trials.reduce((sum, { samples }) => sum + 2 * samples, 0);
  if (floats.length !== asked) throw new BadLesson(`${floats.length} values, where the header asks for ${asked}`);
  return new Map(header.trials.map((trial) => [trial.id, shown(trial, floats)]));
}

function shown(trial: LessonTrial, floats: Float32Array): Shown {
  const { offset, samples } = trial;
  return {
    trial,
    head_deg_s: floats.subarray(offset, offset + samples),
    slow_deg_s: floats.subarray(offset + samples, offset + 2 * samples),
  };
}
