/** Mouse, pen and wheel over the traces: move, zoom, choose. */
import type { TraceModel } from "./model";
import { lengthOf, moved, ordered, type Span } from "./span";

const STILL_PX = 3;
const WHEEL = 0.0022;
const LINE_PX = 16;

interface Grip {
  readonly x: number;
  readonly view: Span;
  readonly at_s: number;
  readonly chooses: boolean;
  dragged: boolean;
}

/** Listen on the layer over the panels; returns how to stop. */
export function followPointer(layer: HTMLElement, model: TraceModel): () => void {
  let grip: Grip | null = null;
  const share = (event: MouseEvent): number => (event.clientX - layer.getBoundingClientRect().left) / layer.clientWidth;
  const moment = (event: MouseEvent, view = model.state.value.view): number => view.start_s + share(event) * lengthOf(view);

  const down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    layer.setPointerCapture(event.pointerId);
    const chooses = event.shiftKey !== (model.state.value.drag === "choose");
    grip = { x: event.clientX, view: model.state.value.view, at_s: moment(event), chooses, dragged: false };
  };
  const move = (event: PointerEvent): void => {
    if (grip && Math.abs(event.clientX - grip.x) > STILL_PX) grip.dragged = true;
    if (!grip?.dragged) return model.point(moment(event));
    if (grip.chooses) chosen(model, grip, moment(event));
    else model.show(moved(grip.view, ((grip.x - event.clientX) / layer.clientWidth) * lengthOf(grip.view)));
  };
  const up = (event: PointerEvent): void => {
    if (grip && !grip.dragged) clicked(model, moment(event), layer.clientWidth);
    grip = null;
  };
  const wheel = (event: WheelEvent): void => {
    event.preventDefault();
    turned(model, event, moment(event), layer.clientWidth);
  };

  const stop = new AbortController();
  const { signal } = stop;
  layer.addEventListener("pointerdown", down, { signal });
  layer.addEventListener("pointermove", move, { signal });
  layer.addEventListener("pointerup", up, { signal });
  layer.addEventListener("pointercancel", () => (grip = null), { signal });
  layer.addEventListener("wheel", wheel, { signal, passive: false });
  return () => stop.abort();
}

function chosen(model: TraceModel, grip: Grip, at_s: number): void {
  model.choose(ordered(grip.at_s, at_s));
  model.point(at_s);
}

function clicked(model: TraceModel, at_s: number, width_px: number): void {
  const beat = model.beatAt(at_s, width_px / lengthOf(model.state.value.view));
  if (beat) model.chooseBeat(beat);
  else model.point(at_s);
}

/** Wheel zooms about the pointer; with Shift, or sideways, it pans; with Alt it stretches the height. */
function turned(model: TraceModel, event: WheelEvent, at_s: number, width_px: number): void {
  const unit = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? LINE_PX : event.deltaMode === WheelEvent.DOM_DELTA_PAGE ? width_px : 1;
  const [across, along] = [event.deltaX * unit, event.deltaY * unit];
  if (event.altKey) model.stretch(Math.exp(-along * WHEEL));
  else if (event.shiftKey || Math.abs(across) > Math.abs(along)) model.pan((across || along) / width_px);
  else model.zoom(Math.exp(along * WHEEL), at_s);
}
