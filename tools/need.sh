#!/usr/bin/env bash
# Sees to it that the named tools are there: `need.sh build` or `need.sh test`.
# Installs Debian packages when something is missing and that is allowed;
# otherwise says in one sentence what to install.
set -euo pipefail

missing=()
want() { # package, then the test that it is not needed
  local package=$1; shift
  "$@" >/dev/null 2>&1 || missing+=("$package")
}

want ca-certificates sh -c 'ls /etc/ssl/certs/ca-certificates.crt'
want gcc sh -c 'command -v cc'
# A compiler without the C library's own files compiles and cannot link.
want libc6-dev sh -c 'echo "int main(void) { return 0; }" | cc -x c -o /dev/null -'
want pkg-config sh -c 'command -v pkg-config'
want libssl-dev pkg-config --exists libcrypto
if [ "${1:-build}" = test ]; then
  want git sh -c 'command -v git'
  want chromium sh -c 'command -v chromium'
  want poppler-utils sh -c 'command -v pdftotext'
  want fonts-dejavu-core sh -c 'ls /usr/share/fonts/truetype/dejavu/DejaVuSans.ttf'
  want python3 sh -c 'command -v python3'
  want age sh -c 'command -v age'
  want postgresql sh -c 'ls /usr/lib/postgresql/*/bin/initdb'
  want python3-venv python3 -c 'import venv, ensurepip'
fi

for tool in cargo node npm; do
  if ! command -v "$tool" >/dev/null; then
    echo "$tool is missing: install Rust (1.95 or newer) and Node.js (20 or newer), then try again." >&2
    exit 1
  fi
done

if [ "${1:-build}" = test ]; then
  for part in clippy fmt; do
    cargo "$part" --version >/dev/null 2>&1 && continue
    component=${part/fmt/rustfmt}
    if ! { command -v rustup >/dev/null && rustup component add "$component" >&2; }; then
      echo "cargo $part is missing: rustup component add $component, then try again." >&2
      exit 1
    fi
  done
fi

[ ${#missing[@]} -eq 0 ] && exit 0

if ! command -v apt-get >/dev/null; then
  echo "Missing: ${missing[*]} (Debian's names). Install them and try again." >&2
  exit 1
fi
as_root=()
if [ "$(id -u)" -ne 0 ]; then
  if command -v sudo >/dev/null && sudo -n true 2>/dev/null; then
    as_root=(sudo)
  else
    echo "Missing: ${missing[*]}. Install them with: sudo apt-get install ${missing[*]}" >&2
    exit 1
  fi
fi
echo "Installing from Debian's packages: ${missing[*]}" >&2
export DEBIAN_FRONTEND=noninteractive
"${as_root[@]}" apt-get update -qq
"${as_root[@]}" apt-get install -y -qq --no-install-recommends "${missing[@]}" >&2
