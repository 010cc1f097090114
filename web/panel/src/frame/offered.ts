// SPDX-License-Identifier: Apache-2.0
// The views that there is something for: a rack without a matrix has no routes.
import { computed } from '@preact/signals';
import { views } from '../browser/route';
import { state } from '../feed/store';

export const offered = computed(() =>
  views.filter(({ view }) => view !== 'routes' || state.value.matrices.size > 0),
);
