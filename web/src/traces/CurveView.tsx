import { useEffect, useRef } from "preact/hooks";
import { CurvePlot, type CurvePicture } from "./curve_plot";

interface CurveViewProps {
  readonly picture: CurvePicture;
  /** The picture in words. */
  readonly label: string;
}

/** A plot of curves, with its description. */
export function CurveView({ picture, label }: CurveViewProps) {
  const host = useRef<HTMLDivElement>(null);
  const plot = useRef<CurvePlot | null>(null);
  useEffect(() => {
    if (!host.current) return;
    const made = new CurvePlot(host.current, picture);
    plot.current = made;
    return () => made.destroy();
  }, []);
  useEffect(() => plot.current?.show(picture), [picture]);
  return <div class="curve-view" role="img" aria-label={label}><div class="host" ref={host} /></div>;
}
