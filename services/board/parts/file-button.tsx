import { useRef } from "preact/hooks";

interface Props {
  readonly text: string;
  /** Of the input behind the button. */
  readonly label: string;
  readonly accept?: string;
  readonly isFolder?: boolean;
  readonly onFiles: (files: readonly File[]) => void;
}

/** A button that has the browser ask for files, or for a folder. */
export function FileButton({ text, label, accept, isFolder, onFiles }: Props) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <button type="button" class="btn" onClick={() => input.current?.click()}>
        {text}
      </button>
      <input
        ref={input}
        class="unseen"
        type="file"
        multiple
        tabIndex={-1}
        aria-label={label}
        {...(accept === undefined ? {} : { accept })}
        {...(isFolder ? { webkitdirectory: true } : {})}
        onChange={(event) => {
          const files = [...(event.currentTarget.files ?? [])];
          event.currentTarget.value = "";
          if (files.length > 0) onFiles(files);
        }}
      />
    </>
  );
}
