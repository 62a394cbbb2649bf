# Sourced by the other scripts: brings a fresh Debian 12 or Ubuntu 24.04 machine to where they can run, and does nothing twice.
#   setup run    what the service needs
#   setup dev    that, and what checks, tests and measurements need

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
cd "$root"
python="$root/.venv/bin/python"

say() { printf '· %s\n' "$*" >&2; }
fail() { printf 'slatproof: %s\n' "$*" >&2; exit 1; }

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"
  elif command -v sudo >/dev/null; then sudo "$@"
  else fail "needs root or sudo for: $*"; fi
}

debian_packages() {
  command -v dpkg-query >/dev/null || fail "this set-up is for Debian and Ubuntu (no dpkg-query found)"
  local missing=()
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
  done
  [ ${#missing[@]} -gt 0 ] || return 0
  say "system packages: ${missing[*]} (a minute or two)"
  as_root apt-get update -qq
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
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

python_environment() {  # python_environment LOCK
  local stamp="$root/.venv/stamp-$1" wanted base
  wanted=$(cat requirements/uv.lock "requirements/$1.lock" | sha256sum)
  [ "$(cat "$stamp" 2>/dev/null)" != "$wanted" ] || return 0
  if [ ! -x "$python" ]; then
    base=$(find_python)
    if [ -z "$base" ]; then
      debian_packages python3 python3-venv python3-dev
      base=$(find_python)
    fi
    [ -n "$base" ] || fail "no Python 3.11 to 3.13 with its headers and venv found"
    say "Python environment in .venv ($("$base" --version))"
    "$base" -m venv .venv
  fi
  say "Python packages of requirements/$1.lock (about a minute)"
  "$python" -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/uv.lock \
    || fail "the package registry did not give uv; is there a connection?"
  "$root/.venv/bin/uv" pip install --quiet --python "$python" --require-hashes -r "requirements/$1.lock" \
    || fail "the packages of requirements/$1.lock could not be installed"
  echo "$wanted" >"$stamp"
}

node_packages() {  # node_packages DIR
  local stamp="$1/node_modules/.stamp" wanted
  wanted=$(sha256sum <"$1/package-lock.json")
  [ "$(cat "$stamp" 2>/dev/null)" != "$wanted" ] || return 0
  say "open data sets and tools of $1/package-lock.json"
  (cd "$1" && npm ci --silent --ignore-scripts --no-audit --no-fund) || fail "npm could not install $1"
  echo "$wanted" >"$stamp"
}

axis_extension() {  # Boost's Voronoi diagram as arrays; the same file for every Python from 3.11 on (stable ABI)
  local source=artwork/axis/_boost.cpp library=artwork/axis/_boost.abi3.so headers
  [ ! "$library" -nt "$source" ] || return 0
  say "the axis extension"
  headers=$("$python" -c 'import sysconfig; print(sysconfig.get_path("include"))')
  g++ -O2 -std=c++17 -shared -fPIC -I"$headers" "$source" -o "$library.tmp" && mv "$library.tmp" "$library" \
    || fail "$source could not be compiled"
}

setup() {
  debian_packages build-essential pkg-config libpotrace-dev libagg-dev libboost-dev ca-certificates
  if [ "$1" = run ] && [ -e .venv/stamp-dev ]; then python_environment dev; else python_environment "$1"; fi
  axis_extension
  [ "$1" = dev ] || return 0
  debian_packages potrace chromium curl jq fonts-dejavu-core librsvg2-tests openclipart-svg
  command -v npm >/dev/null || debian_packages nodejs npm
  node_packages tests/npm
}
