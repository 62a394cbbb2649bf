# Sourced by the other scripts: brings a fresh Debian 12 or 13 machine to where they can run, and does nothing twice.
#   setup run    what the service needs
#   setup dev    that, and what checks, tests and measurements need
# Interrupted at any step, it goes on the next time: every step leaves its mark only when it is done.

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
cd "$root"
python="$root/.venv/bin/python"
unset PYTHONDONTWRITEBYTECODE  # a process that finds its modules compiled starts in half the time; tests start hundreds
lock_wait=${SETUP_LOCK_WAIT:-600}  # seconds that another package manager at work is waited for

say() { printf '· %s\n' "$*" >&2; }
fail() { printf 'slatproof: %s\n' "$*" >&2; exit 1; }

# Prints the comment at the top of the calling script and ends, before anything is set up.
help_first() {  # help_first "$@"
  local word
  for word in "$@"; do
    case "$word" in
      -h|--help) sed -n '2,/^[^#]/{s/^# \{0,1\}//p}' "$0"; exit 0 ;;
    esac
  done
}

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"
  elif command -v sudo >/dev/null; then sudo "$@"
  else fail "needs root or sudo for: $*"; fi
}

# Runs a command in silence; what it said is kept in $said for the reason, should it fail.
quietly() { said=$("$@" 2>&1 </dev/null); }

reason() {  # the line of $said that says why, without progress and repetitions
  local line
  line=$(grep -E '^(E:|error:|ERROR:|npm (ERR!|error)|  ?[×╰]|.*[Ee]rror)' <<<"$said" | head -n 1)
  printf '%s' "${line:-$(tail -n 1 <<<"$said")}"
}

apt() {  # apt WORDS: with waits for whoever holds apt's or dpkg's lock
  local until=$((SECONDS + lock_wait)) told=''
  while ! quietly as_root env DEBIAN_FRONTEND=noninteractive LC_ALL=C apt-get -q -y \
      -o DPkg::Lock::Timeout="$lock_wait" -o Acquire::Retries=1 -o Acquire::http::Timeout=30 "$@"; do
    case "$said" in
      *'Could not get lock'*|*'Unable to lock'*)
        [ "$SECONDS" -lt "$until" ] || return 1
        [ -n "$told" ] || say "another package manager is at work; waiting for it"
        told=yes
        sleep 3 ;;
      *'dpkg was interrupted'*)
        quietly as_root env DEBIAN_FRONTEND=noninteractive dpkg --configure -a || return 1 ;;
      *) return 1 ;;
    esac
  done
}

debian_packages() {
  command -v dpkg-query >/dev/null || fail "this set-up is for Debian and Ubuntu (no dpkg-query found)"
  local missing=() package
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
  done
  [ ${#missing[@]} -gt 0 ] || return 0
  say "system packages: ${missing[*]} (a minute or two)"
  apt -o APT::Update::Error-Mode=any update || fail "the list of system packages could not be had: $(reason)"
  apt install --no-install-recommends "${missing[@]}" || fail "system packages could not be installed: $(reason)"
}

good_python() {  # can run us and build an extension
  "$1" -c 'import ensurepip, pathlib, sys, sysconfig, venv
good = (3, 11) <= sys.version_info[:2] <= (3, 13)
sys.exit(not (good and pathlib.Path(sysconfig.get_path("include"), "Python.h").exists()))' >/dev/null 2>&1
}

find_python() {
  local candidate
  for candidate in python3 python3.13 python3.12 python3.11 /usr/bin/python3; do
    if command -v "$candidate" >/dev/null && good_python "$candidate"; then echo "$candidate"; return 0; fi
  done
}

# Which Python an environment runs, and from where: after an upgrade of the system it is another one, or none.
identity() {
  "$python" -c 'import os, sys; print(sys.version, sys.base_prefix, os.path.realpath(sys.prefix))' 2>/dev/null
}

make_environment() {
  local base made="$root/.venv/made-with"
  [ ! -s "$made" ] || [ "$(cat "$made")" != "$(identity)" ] || return 0
  base=$(find_python)
  if [ -z "$base" ]; then
    debian_packages python3 python3-venv python3-dev
    base=$(find_python)
  fi
  [ -n "$base" ] || fail "no Python 3.11 to 3.13 with its headers and venv found"
  say "Python environment in .venv ($("$base" --version))"
  rm -rf .venv
  quietly "$base" -m venv .venv || fail "the Python environment could not be made: $(reason)"
  identity >"$made.new" && mv "$made.new" "$made"
}

imports_work() {  # one module of each kind: arrays, geometry, pictures, web, database, engine for work
  "$python" -c 'import numpy, shapely, cv2, PIL, starlette, strawberry, sqlalchemy, dbos, pydantic' >/dev/null 2>&1
}

python_packages() {  # python_packages LOCK
  say "Python packages of requirements/$1.lock (about a minute)"
  quietly "$python" -m pip install --quiet --disable-pip-version-check --no-input --retries 2 --timeout 30 \
      --require-hashes -r requirements/uv.lock \
    || fail "the Python package registry did not give uv: $(reason)"
  quietly env UV_HTTP_TIMEOUT="${UV_HTTP_TIMEOUT:-60}" \
      "$python" -m uv pip install --quiet --python "$python" --require-hashes -r "requirements/$1.lock" \
    || fail "the packages of requirements/$1.lock could not be installed: $(reason)"
}

python_environment() {  # python_environment LOCK
  local stamp="$root/.venv/stamp-$1" wanted
  make_environment
  wanted=$(cat requirements/uv.lock "requirements/$1.lock" | sha256sum)
  [ "$(cat "$stamp" 2>/dev/null)" != "$wanted" ] || return 0
  python_packages "$1"
  if ! imports_work; then  # what an interrupted set-up left behind: once more, from nothing
    rm -rf .venv
    make_environment
    python_packages "$1"
    imports_work || fail "the installed packages cannot be loaded; .venv/bin/python -c 'import numpy' says why"
  fi
  echo "$wanted" >"$stamp"
}

# `slatproof` runs this checkout from any folder, in the environment made for it.
command_of_this_checkout() {
  local launcher="$root/.venv/bin/slatproof" folder=/usr/local/bin
  [ ! -x "$launcher" ] || return 0
  printf '#!/bin/sh\nPYTHONPATH="%s${PYTHONPATH:+:$PYTHONPATH}" exec "%s" -P -m service.cli "$@"\n' "$root" "$python" \
    >"$launcher.new"
  chmod 755 "$launcher.new" && mv "$launcher.new" "$launcher"
  [ -w "$folder" ] || folder="$HOME/.local/bin"
  if [ -e "$folder/slatproof" ] || ! mkdir -p "$folder" 2>/dev/null; then return 0; fi  # another checkout has the name
  ln -sfn "$launcher" "$folder/slatproof" && say "the command slatproof is in $folder"
}

node_packages() {  # node_packages DIR
  local stamp="$1/node_modules/.stamp" wanted
  wanted=$(sha256sum <"$1/package-lock.json")
  [ "$(cat "$stamp" 2>/dev/null)" != "$wanted" ] || return 0
  say "open data sets and tools of $1/package-lock.json"
  quietly env -C "$1" npm ci --ignore-scripts --no-audit --no-fund --no-update-notifier \
    || fail "the packages of $1 could not be installed: $(reason)"
  echo "$wanted" >"$stamp"
}

client_packages() {  # a generated client and what makes it, apart: they want other versions than the service has
  local made="$root/.venv/clients" wanted
  wanted=$(sha256sum <requirements/clients.lock)
  [ "$(cat "$made/stamp" 2>/dev/null)" != "$wanted" ] || return 0
  say "a generated client's packages of requirements/clients.lock"
  quietly "$python" -m uv venv --quiet --clear --python "$python" "$made" \
    && quietly env UV_HTTP_TIMEOUT="${UV_HTTP_TIMEOUT:-60}" "$python" -m uv pip install --quiet \
      --python "$made/bin/python" --require-hashes -r requirements/clients.lock \
    || fail "the packages of requirements/clients.lock could not be installed: $(reason)"
  echo "$wanted" >"$made/stamp"
}

extensions() {  # compiled parts of the engine; the same files for every Python from 3.11 on (stable ABI)
  local name source library headers
  for name in axis/_boost program/_sweep repair/_crossing repair/_pressing; do
    source="artwork/$name.cpp" library="artwork/$name.abi3.so"
    [ ! "$library" -nt "$source" ] || continue
    say "the compiled part ${name%/*}"
    headers=$("$python" -c 'import sysconfig; print(sysconfig.get_path("include"))')
    quietly g++ -O2 -std=c++17 -shared -fPIC -I"$headers" "$source" -o "$library.tmp" \
      || fail "$source could not be compiled: $(reason)"
    mv "$library.tmp" "$library"
  done
}

setup() {
  debian_packages build-essential pkg-config libpotrace-dev libagg-dev libboost-dev ca-certificates \
    ghostscript emf2svg libwmf-bin libjxl-tools
  if [ "$1" = run ] && [ -e .venv/stamp-dev ]; then python_environment dev; else python_environment "$1"; fi
  command_of_this_checkout
  extensions
  [ "$1" = dev ] || return 0
  debian_packages potrace chromium-headless-shell curl jq fonts-dejavu-core fonts-liberation fonts-urw-base35 locales librsvg2-tests openclipart-svg tesseract-ocr
  command -v npm >/dev/null || debian_packages nodejs npm
  node_packages tests/npm
  client_packages
}
