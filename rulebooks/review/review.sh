#!/bin/sh
# Reviews a change of rulebooks: `review.sh BASE [FOLDER]`, the folder from the top of the repository. Writes review.md there;
# ends with 1 where something must be mended.
set -u
base=${1:?"usage: review.sh BASE [FOLDER]"}
folder=${2:-.}
bloomward=${BLOOMWARD:-bloomward}
out=${REVIEW:-review.md}
failed=0
cd "$(git rev-parse --show-toplevel)" || exit 2

git rev-parse --verify --quiet "$base^{commit}" >/dev/null || {
  echo "review.sh: there is no revision $base here; fetch the history first" >&2
  exit 2
}

books=$(git ls-files -- "$folder" | grep '\.rulebook$')
changed=$(git diff --name-only --no-ext-diff "$base" -- "$folder" | grep '\.rulebook$')

# Whether a rulebook differs, or one that it builds on, or one that that one builds on.
touched() {
  at=$1
  while [ -n "$at" ]; do
    printf '%s\n' "$changed" | grep -qxF "$at" && return 0
    below=$(sed -n 's/^[[:space:]]*builds-on[[:space:]]*"\([^"]*\)".*/\1/p' "$at" 2>/dev/null | head -n 1)
    [ -n "$below" ] || return 1
    at=$(git ls-files -- "$(dirname "$at")/$below" | head -n 1)
  done
  return 1
}

# Prints what a command says, folded away, and remembers that it failed.
told() {
  if said=$("$@" 2>&1); then return; fi
  failed=1
  printf '\n**%s**\n\n```\n%s\n```\n' "$(basename "$1") $2" "$said"
}

: >"$out"
for book in $books; do
  touched "$book" || continue
  {
    printf '# %s\n\n' "$book"
    if git cat-file -e "$base:$book" 2>/dev/null; then
      "$bloomward" compare --format markdown "$base:$book" "$book" 2>&1
      [ $? -lt 2 ] || failed=1
    else
      printf 'This rulebook is new.\n'
    fi
    told "$bloomward" proofread "$book"
    told "$bloomward" rehearse "$book"
    printf '\n'
  } >>"$out"
done
for book in $changed; do
  [ -e "$book" ] || printf '# %s\n\nThis rulebook is gone.\n\n' "$book" >>"$out"
done
[ -s "$out" ] || printf 'No rulebook differs.\n' >"$out"
exit $failed
