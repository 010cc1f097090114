// SPDX-License-Identifier: Apache-2.0
// What has lasted: a value as it was when it last held still for a while, for what is read and not
// watched; and whether something has been true for a while, since something else was new.
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';

export function useSettled<T>(value: T, ms: number): T {
  const settled = useSignal(value);
  useEffect(() => {
    const soon = setTimeout(() => void (settled.value = value), ms);
    return () => clearTimeout(soon);
  }, [value]);
  return settled.value;
}

export function useFor(is: boolean, ms: number, since?: unknown): boolean {
  const lasting = useSignal(false);
  useEffect(() => {
    lasting.value = false;
    if (!is) return;
    const soon = setTimeout(() => void (lasting.value = true), ms);
    return () => clearTimeout(soon);
  }, [is, since]);
  return is && lasting.value;
}
