#!/usr/bin/env bash
# Tries the README on a bare Debian: `tools/bare.sh [demo] [test]`, both when
# none is named. Makes a fresh root with debootstrap, brings in what the README
# says must be there (make, Rust, Node.js), clones the commit that is checked out
# here and runs `make demo` (started, its address fetched, stopped) and `make
# test` in it. Nothing is left behind. It takes an hour or so and some 10 GB.
#
# Rust and Node.js are those found on PATH; apt, cargo, npm, pip, proxies and
# certificates are set up as on this machine. From the environment: SUITE, the
# Debian release (bookworm); TMPDIR, where the root is made.
set -euo pipefail

here=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
suite=${SUITE:-bookworm}
# The longest that building and starting the demo may take.
longest_minutes=90
# Where tools and the user of the root live, and the clone's place there.
tools=/opt
home=$tools/user
clone=$home/strandwright

say() { printf '== %s\n' "$*" >&2; }
stop() { printf '%s\n' "$*" >&2; exit 1; }

# ---- Outside: checks, the root's folder, and namespaces that end with us. ----

if [ "${1:-}" != --inside ]; then
  commands=("$@")
  [ ${#commands[@]} -gt 0 ] || commands=(demo test)
  for command in "${commands[@]}"; do
    case $command in demo | test) ;; *) stop "\"$command\" is not tried here: name demo, test or both." ;; esac
  done
  [ "$(id -u)" -eq 0 ] || stop "Making a root takes the rights of root: try again with sudo."
  for tool in debootstrap unshare chroot git cargo rustc node npm; do
    command -v "$tool" >/dev/null || stop "$tool is missing: install it and try again (apt-get install debootstrap util-linux git; Rust and Node.js as the README says)."
  done
  unshare --mount --pid --fork --kill-child mount -t tmpfs none /mnt 2>/dev/null ||
    stop "This machine does not allow mounting, which a root of its own needs: run it on a machine or in a container that does."
  root=$(mktemp -d "${TMPDIR:-/tmp}/bare-XXXXXX")
  chmod 755 "$root" # apt fetches as a user of its own
  # What was mounted is gone with its namespace; one-file-system in case it is not.
  trap 'rm -rf --one-file-system "$root"' EXIT
  unshare --mount --propagation private --pid --fork --kill-child "${BASH_SOURCE[0]}" --inside "$root" "${commands[@]}" &
  inside=$!
  # unshare itself heeds nothing milder; all that it started ends with it.
  trap 'kill -KILL "$inside"; wait "$inside" || true; exit 130' INT TERM HUP
  wait "$inside"
  exit
fi

# ---- In the namespaces. ----

root=$2
shift 2

# Copies a file or folder to the same place in the root, when it is there.
carry() {
  local path
  for path in "$@"; do
    [ -e "$path" ] || continue
    mkdir -p "$root$(dirname "$path")"
    cp -aL "$path" "$root$(dirname "$path")/"
  done
}

make_root() {
  local mirror
  mirror=$(apt-get indextargets --format '$(REPO_URI) $(CODENAME) $(COMPONENT)' 'Identifier: Packages' |
    awk -v suite="$suite" '$2 == suite && $3 == "main" { print $1; exit }')
  [ -n "$mirror" ] || stop "This machine's apt sources name no mirror of $suite: run apt-get update, or name its release in SUITE."
  say "a bare $suite in $root"
  debootstrap --variant=minbase "$suite" "$root" "$mirror" >"$root.log" 2>&1 ||
    { tail -n 20 "$root.log" >&2; rm -f "$root.log"; stop "debootstrap failed."; }
  rm -f "$root.log"
  mount -t proc proc "$root/proc"
  mount --rbind /dev "$root/dev"
  mount --rbind /sys "$root/sys"
}

# The settings with which this machine reaches the packages.
carry_settings() {
  rm -rf "$root/etc/apt/sources.list" "$root/etc/apt/sources.list.d"
  carry /etc/resolv.conf /etc/hosts /etc/pip.conf /usr/local/share/ca-certificates
  carry /etc/apt/{sources.list,sources.list.d,apt.conf.d,auth.conf,auth.conf.d,preferences,preferences.d,keyrings,trusted.gpg,trusted.gpg.d}
  mkdir -p "$root$home/.cargo"
  local cargo_home=${CARGO_HOME:-$HOME/.cargo} name
  for name in config config.toml; do
    [ ! -e "$cargo_home/$name" ] || cp -L "$cargo_home/$name" "$root$home/.cargo/"
  done
  local search=$tools/rust/bin:$tools/node/bin
  for name in /usr/local /usr ""; do search+=:$name/sbin:$name/bin; done
  inside=("HOME=$home" "LANG=C.UTF-8" "PATH=$search")
  for name in $(compgen -e); do
    case ${name^^} in
      *_PROXY | CARGO_NET_* | CARGO_REGISTR* | CARGO_HTTP_* | NPM_CONFIG_REGISTRY | PIP_*) inside+=("$name=${!name}") ;;
      SSL_CERT_FILE | CURL_CA_BUNDLE | REQUESTS_CA_BUNDLE | GIT_SSL_CAINFO | NODE_EXTRA_CA_CERTS)
        inside+=("$name=${!name}")
        carry "${!name}"
        ;;
    esac
  done
}

# Rust and Node.js, as a user of the README has them.
carry_tools() {
  local npm
  mkdir -p "$root$tools/rust" "$root$tools/node/bin" "$root$tools/node/lib/node_modules" "$root$tools/node/etc"
  mount --bind "$(rustc --print sysroot)" "$root$tools/rust"
  cp -L "$(command -v node)" "$root$tools/node/bin/"
  npm=$(dirname "$(dirname "$(readlink -f "$(command -v npm)")")")
  cp -a "$npm" "$root$tools/node/lib/node_modules/npm"
  ln -s ../lib/node_modules/npm/bin/npm-cli.js "$root$tools/node/bin/npm"
  ln -s ../lib/node_modules/npm/bin/npx-cli.js "$root$tools/node/bin/npx"
  npm=$(npm config get userconfig)
  [ ! -e "$npm" ] || cp -L "$npm" "$root$home/.npmrc"
  npm=$(npm config get globalconfig)
  [ ! -e "$npm" ] || cp -L "$npm" "$root$tools/node/etc/npmrc"
  local tool
  for tool in cargo rustc node npm; do
    in_root "$tool --version" >&2 || stop "$tool of this machine does not run on a bare $suite: install one that does (rustup; Node.js from its own packages)."
  done
}

in_root() { chroot "$root" /usr/bin/env -i "${inside[@]}" bash -c "$1"; }

# The command that the README gives for what must be there first.
first_command() { sed -n 's/^sudo \(apt-get install .*make.*\)/\1/p' "$here/README.md" | sed 's/ *#.*//' | head -n 1; }

try_demo() {
  in_root 'cd '"$clone"'
    set -m
    make demo >/tmp/demo.log 2>&1 &
    job=$!
    address=
    for _ in $(seq $((60 * '"$longest_minutes"'))); do
      address=$(grep -ao "http://127\.0\.0\.1:[0-9]*" /tmp/demo.log | head -n 1) || true
      [ -z "$address" ] && kill -0 $job 2>/dev/null || break
      sleep 1
    done
    [ -n "$address" ] || { tail -n 40 /tmp/demo.log; echo "make demo printed no address."; kill -INT -$job 2>/dev/null; exit 1; }
    node -e "fetch(process.argv[1]).then(async (answer) => {
      const page = await answer.text();
      if (!answer.ok || !page.includes(\"Salon Seven Rows\")) throw new Error(\`\${answer.status}: \${page.slice(0, 300)}\`);
      console.log(\`\${answer.url} answers \${answer.status}, \${page.length} characters\`);
    }).catch((error) => { console.error(error); process.exit(1); })" "$address" || { kill -INT -$job; exit 1; }
    kill -INT -$job
    wait $job || true
    left=$(ls -d /tmp/strandwright-demo-* 2>/dev/null) && { echo "make demo left $left behind."; exit 1; }
    echo "make demo started, answered, stopped, and left nothing."'
}

make_root
carry_settings
carry_tools
git clone --quiet "$here" "$root$clone"
say "trying $(git -C "$root$clone" rev-parse --short HEAD): what is not committed is not tried"
before=$(first_command)
[ -n "$before" ] || stop "README.md no longer says with which apt-get command to begin: mend it, or tools/bare.sh."
say "$before"
in_root "apt-get update -qq && DEBIAN_FRONTEND=noninteractive ${before/install/install -y -qq}" >&2
failed=()
for command in "$@"; do
  say "make $command"
  began=$SECONDS
  if [ "$command" = demo ]; then try_demo; else in_root "cd $clone && make test"; fi >&2 || failed+=("$command")
  say "make $command: $(((SECONDS - began) / 60)) minutes"
done
[ ${#failed[@]} -eq 0 ] || stop "On a bare $suite this failed: make ${failed[*]}."
say "On a bare $suite the README holds: make $*"
