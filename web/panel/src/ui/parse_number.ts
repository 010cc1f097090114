// SPDX-License-Identifier: Apache-2.0
// "−3,5" and "-3.5" are the same to a person.
export function parse(text: string): number | null {
  const plain = text.trim().replace('−', '-').replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}
