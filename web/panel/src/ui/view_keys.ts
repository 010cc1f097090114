// SPDX-License-Identifier: Apache-2.0
// Keys of the view that is open; it puts them here and takes them away.
interface Key {
  key: string;
  does: string;
  run: () => void;
}

const ofTheView = new Set<readonly Key[]>();
export function withKeys(keys: readonly Key[]): () => void {
  ofTheView.add(keys);
  return () => void ofTheView.delete(keys);
}
export const keysOfTheView = (): Key[] => [...ofTheView].flat();
