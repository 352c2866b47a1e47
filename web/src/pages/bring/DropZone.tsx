import { useState } from "preact/hooks";
import { Trouble } from "../../parts/Trouble";
import { t } from "../../text/text";
import { ofChooser, ofDrop } from "./gather";
import type { Given } from "./sessions_of";

/** Where files are dropped, or chosen by buttons that the keyboard reaches. */
export function DropZone({ onFiles, small = false }: { readonly onFiles: (given: Given[]) => void; readonly small?: boolean }) {
  const [over, setOver] = useState(false);
  const [error, setError] = useState<unknown>(null);
  const drop = (event: DragEvent): void => {
    event.preventDefault();
    setOver(false);
    if (event.dataTransfer) ofDrop(event.dataTransfer).then(onFiles, setError);
  };
  const hover = (event: DragEvent): void => {
    event.preventDefault();
    setOver(true);
  };
  return (
    <div class={`drop${over ? " over" : ""}${small ? " small" : ""}`} onDragOver={hover} onDragLeave={() => setOver(false)} onDrop={drop}>
      <p>{t(small ? "bring.drop_more" : "bring.drop")}</p>
      <p class="actions">
        <Chooser label={t("bring.choose_files")} onFiles={onFiles} />
        <Chooser label={t("bring.choose_folder")} onFiles={onFiles} folder />
      </p>
      <Trouble error={error} />
    </div>
  );
}

interface ChooserProps {
  readonly label: string;
  readonly onFiles: (given: Given[]) => void;
  readonly folder?: boolean;
}

/** The browser's own chooser, named by what stands beside it. */
function Chooser({ label, onFiles, folder = false }: ChooserProps) {
  const take = (input: HTMLInputElement): void => {
    if (input.files?.length) onFiles(ofChooser(input.files));
    input.value = "";
  };
  return (
    <label class="chooser">
      <span>{label}</span>
      <input type="file" multiple onChange={(event) => take(event.currentTarget)} {...(folder ? { webkitdirectory: true } : {})} />
    </label>
  );
}
