#!/bin/sh
# Reviews a change of rulebooks: `review.sh BASE [FOLDER]`, the folder from the top of the repository. Writes review.md there;
# ends with 1 where something must be mended. Bases of overlays may lie anywhere in the repository, or in the folder that
# LIBRARY names.
set -u
base=${1:?"usage: review.sh BASE [FOLDER]"}
folder=${2:-.}
bloomward=${BLOOMWARD:-bloomward}
out=${REVIEW:-review.md}
library=${LIBRARY:-.}
failed=0
newline='
'
cd "$(git rev-parse --show-toplevel)" || exit 2

git rev-parse --verify --quiet "$base^{commit}" >/dev/null || {
  echo "review.sh: there is no revision $base here; fetch the history first" >&2
  exit 2
}
command -v "$bloomward" >/dev/null || {
  echo "review.sh: there is no program $bloomward here; install it, or name it in BLOOMWARD" >&2
  exit 2
}

# Git quotes names with signs beyond ASCII unless it ends them with a zero byte; here they end with their lines.
lines() { tr '\n\0' '\001\n'; }
tracked=$( { git ls-files -z; git ls-files -z --others --exclude-standard; } | lines | sort -u)
changed=$( { git diff --name-only -z --no-ext-diff --no-renames "$base"
  git ls-files -z --others --exclude-standard; } | lines | sort -u)
case $tracked$changed in
*"$(printf '\001')"*)
  echo "review.sh: a file name holds a line break; give it another name" >&2
  exit 2
  ;;
esac

# Takes the dots out of a path.
folded() {
  printf '%s\n' "$1" | sed -e ':dot' -e 's#^\./##' -e 's#/\./#/#' -e 'tdot' -e ':up' -e 's#^[^/][^/]*/\.\./##' \
    -e 's#/[^/][^/]*/\.\./#/#' -e 'tup'
}

# Prints the files that a rulebook names, each on a line: its base, or with `hours` the weather of its examples.
named() {
  case $2 in
  base) words='builds-on[[:space:]]*"[^"]*"' ;;
  *) words='hours[[:space:]]*from[[:space:]]*"[^"]*"' ;;
  esac
  tr '\n' ' ' <"$1" 2>/dev/null | grep -o "$words" | sed 's/.*"\([^"]*\)"/\1/' | while IFS= read -r file; do
    case $1 in
    */*) folded "${1%/*}/$file" ;;
    *) folded "$file" ;;
    esac
  done
}

differs() { printf '%s\n' "$changed" | grep -qxF -- "$1"; }

# Whether a rulebook differs, or weather that its examples name, or one that it builds on, however far down.
touched() {
  at=$1
  seen=$newline
  while [ -n "$at" ]; do
    case $seen in *"$newline$at$newline"*) return 1 ;; esac
    seen=$seen$at$newline
    differs "$at" && return 0
    while IFS= read -r hours; do
      [ -n "$hours" ] && differs "$hours" && return 0
    done <<HOURS
$(named "$at" hours)
HOURS
    at=$(named "$at" base | head -n 1)
  done
  return 1
}

in_folder() {
  case $folder in
  . | ./) return 0 ;;
  esac
  case $1 in
  "${folder%/}"/*) return 0 ;;
  *) return 1 ;;
  esac
}

# Whether a rulebook differs itself, or weather that its own examples name.
edited() {
  differs "$1" && return 0
  while IFS= read -r hours; do
    [ -n "$hours" ] && differs "$hours" && return 0
  done <<HOURS
$(named "$1" hours)
HOURS
  return 1
}

# Prints the rulebook whose page tells of one that is not edited itself: the next below it that is, and can be compared.
told_with() {
  at=$1
  seen=$newline
  while at=$(named "$at" base | head -n 1) && [ -n "$at" ]; do
    case $seen in *"$newline$at$newline"*) return ;; esac
    seen=$seen$at$newline
    if edited "$at"; then
      in_folder "$at" && git cat-file -e "$base:$at" 2>/dev/null && printf '%s\n' "$at"
      return
    fi
  done
}

# Prints the rulebooks that are told on the page of another.
with() {
  while IFS= read -r other; do
    case $other in *.rulebook) ;; *) continue ;; esac
    in_folder "$other" && [ -e "$other" ] && touched "$other" && ! edited "$other" || continue
    git cat-file -e "$base:$other" 2>/dev/null || continue
    [ "$(told_with "$other")" = "$1" ] && printf '%s\n' "$other"
  done <<BOOKS
$tracked
BOOKS
}

# Prints what a command says, folded away, and remembers that it failed.
told() {
  if said=$("$@" 2>&1); then return; fi
  failed=1
  printf '\n**%s**\n\n```\n%s\n```\n' "$(basename "$1") $2" "$said"
}

: >"$out"
while IFS= read -r book; do
  case $book in *.rulebook) ;; *) continue ;; esac
  in_folder "$book" && [ -e "$book" ] && touched "$book" || continue
  printf '# %s\n\n' "$book" >>"$out"
  below=
  edited "$book" || below=$(told_with "$book")
  if [ -n "$below" ]; then
    printf 'It builds on %s, and is told there.\n' "$below" >>"$out"
  elif git cat-file -e "$base:$book" 2>/dev/null; then
    set --
    while IFS= read -r other; do
      [ -z "$other" ] || set -- "$@" --also "./$other"
    done <<OTHERS
$(with "$book")
OTHERS
    said=$("$bloomward" compare --library "$library" --format markdown "$@" "$base:$book" "./$book" 2>&1)
    status=$?
    # What cannot be read now is told by the proofreading below, too; what could not be read before is mended by this change.
    if [ "$status" -lt 2 ]; then
      printf '%s\n' "$said" >>"$out"
    else
      [ "$status" -eq 2 ] || failed=1
      printf 'The two cannot be compared:\n\n```\n%s\n```\n' "$said" >>"$out"
    fi
  else
    printf 'This rulebook is new.\n' >>"$out"
  fi
  told "$bloomward" proofread --library "$library" "./$book" >>"$out"
  told "$bloomward" rehearse --library "$library" "./$book" >>"$out"
  printf '\n' >>"$out"
done <<BOOKS
$tracked
BOOKS
while IFS= read -r book; do
  case $book in *.rulebook) ;; *) continue ;; esac
  in_folder "$book" || continue
  [ -e "$book" ] || printf '# %s\n\nThis rulebook is gone.\n\n' "$book" >>"$out"
done <<BOOKS
$changed
BOOKS
[ -s "$out" ] || printf 'No rulebook differs.\n' >"$out"
exit $failed
