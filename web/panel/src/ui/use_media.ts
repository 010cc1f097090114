// SPDX-License-Identifier: Apache-2.0
// Whether the screen is such a one, now and when it changes.
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';

export function useMedia(query: string): boolean {
  const fits = useSignal(matchMedia(query).matches);
  useEffect(() => {
    const media = matchMedia(query);
    const follow = (): void => void (fits.value = media.matches);
    follow();
    media.addEventListener('change', follow);
    return () => media.removeEventListener('change', follow);
  }, [query]);
  return fits.value;
}
