// SPDX-License-Identifier: Apache-2.0
// Texts that this tab keeps while its page is loaded anew. A browser that keeps nothing still works.
export function keptInTab(name: string): string | null {
  try {
    return sessionStorage.getItem(`catwalk.${name}`);
  } catch {
    return null; // Storage is switched off.
  }
}

export function keepInTab(name: string, text: string | null): void {
  try {
    if (text === null) sessionStorage.removeItem(`catwalk.${name}`);
    else sessionStorage.setItem(`catwalk.${name}`, text);
  } catch {
    // As above, or it is full.
  }
}
