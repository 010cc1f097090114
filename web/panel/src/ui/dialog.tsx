// SPDX-License-Identifier: Apache-2.0
// The browser's own dialog: it keeps the focus, closes with Escape, and gives the focus back.
import type { ComponentChildren, JSX } from 'preact';
import { useEffect, useId, useRef } from 'preact/hooks';
import { onlyFresh } from './fresh_keys';
import { Picture } from './shape';

interface Props {
  title: string;
  open: boolean;
  onClose: () => void;
  children: ComponentChildren;
}

export function Dialog({ title, open, onClose, children }: Props): JSX.Element | null {
  const ref = useRef<HTMLDialogElement>(null);
  const id = useId();
  // A key that was down before it opened, and is held, presses nothing in it.
  const keys = useRef(onlyFresh());
  useEffect(() => {
    const dialog = ref.current;
    if (open && dialog && !dialog.open) dialog.showModal();
    // Closing gives the focus back to where it was; being taken away does not.
    return () => dialog?.close();
  }, [open]);
  if (!open) return null;
  return (
    <dialog
      ref={ref}
      aria-labelledby={id}
      onClose={onClose}
      onKeyDown={keys.current.down}
      onKeyUp={keys.current.up}
    >
      <div class="dialog-head">
        <h2 id={id}>{title}</h2>
        <button
          type="button"
          class="button bare"
          aria-label="Close"
          onClick={() => ref.current?.close()}
        >
          <Picture of="close" />
        </button>
      </div>
      {children}
    </dialog>
  );
}
