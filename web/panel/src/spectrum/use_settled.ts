// SPDX-License-Identifier: Apache-2.0
// A value as it was when it last held still for a while: for what is read, not watched.
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
