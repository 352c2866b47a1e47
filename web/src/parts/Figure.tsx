import { useEffect, useState } from "preact/hooks";
import { figure as readFigure } from "../api/calls";
import type { FigureEntry } from "../api/types";
import { t } from "../text/text";
import { themed } from "./figure_theme";
import { Trouble } from "./Trouble";

interface FigureProps {
  readonly session: string;
  readonly entry: FigureEntry;
  /** Changes when the figure must be read again. */
  readonly state: string;
  readonly caption?: boolean;
}

/** A figure of the report: an image without any power over the page, in the page's colours. */
export function Figure({ session, entry, state, caption = true }: FigureProps) {
  const { address, error } = useFigure(session, entry.name, state);
  if (error) return <Trouble error={error} />;
  return (
    <figure class="figure">
      {address ? <img src={address} alt={entry.label} /> : <p class="waiting">{t("figure.loading")}</p>}
      {caption && entry.caption && <figcaption>{entry.caption}</figcaption>}
    </figure>
  );
}

function useFigure(session: string, name: string, state: string): { address: string; error: unknown } {
  const [shown, show] = useState<{ address: string; error: unknown }>({ address: "", error: null });
  useEffect(() => {
    let address = "";
    let closed = false;
    readFigure(session, name).then(
      (svg) => {
        if (closed) return;
        address = URL.createObjectURL(new Blob([themed(svg)], { type: "image/svg+xml" }));
        show({ address, error: null });
      },
      (error: unknown) => {
        if (!closed) show({ address: "", error });
      },
    );
    return () => {
      closed = true;
      if (address) URL.revokeObjectURL(address);
    };
  }, [session, name, state]);
  return shown;
}
