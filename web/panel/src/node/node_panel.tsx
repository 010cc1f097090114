// SPDX-License-Identifier: Apache-2.0
import type { JSX } from 'preact';
export const NodePanel = ({ name }: { name: string }): JSX.Element => <section aria-label={name} />;
