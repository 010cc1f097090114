// SPDX-License-Identifier: Apache-2.0
#pragma once
// Result<T, E>: a value, or the reason why there is none. What std::expected is in C++23.

#include <cassert>
#include <utility>
#include <variant>

namespace catwalk {

template <class E>
struct Failure {
  E error;
};
template <class E>
Failure(E) -> Failure<E>;

template <class T, class E>
class [[nodiscard]] Result {
 public:
  Result(T value) : state_{std::in_place_index<0>, std::move(value)} {}
  Result(Failure<E> failure) : state_{std::in_place_index<1>, std::move(failure.error)} {}

  explicit operator bool() const noexcept { return state_.index() == 0; }

  // Precondition of value(): *this is true; of error(): it is false.
  const T& value() const& { return *checked<0>(); }
  T& value() & { return const_cast<T&>(*checked<0>()); }
  T&& value() && { return std::move(const_cast<T&>(*checked<0>())); }
  const E& error() const { return *checked<1>(); }

  const T& operator*() const& { return value(); }
  T&& operator*() && { return std::move(*this).value(); }
  const T* operator->() const { return checked<0>(); }

 private:
  template <std::size_t I>
  auto checked() const {
    const auto* held = std::get_if<I>(&state_);
    assert(held != nullptr);
    return held;
  }

  std::variant<T, E> state_;
};

}  // namespace catwalk
