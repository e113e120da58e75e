# Sourced from the repository's root. Debian packages of any suite and machine, fetched by name,
# checked against Debian's keys and unpacked under target/boards: nothing is installed, and apt's
# own state is left alone.

boards="$(realpath -m "${CARGO_TARGET_DIR:-target}")/boards"

# Where the machine itself gets its packages.
debian_mirror() {
  apt-get indextargets --format '$(REPO_URI)' 'Created-By: Packages' 'Origin: Debian' | grep -v security | head -n 1
}

# An apt of our own over the suites we draw from; indexes older than a day are fetched anew.
debian_apt() {
  local apt="$boards/apt" mirror try
  if [ -n "$(find "$apt/fresh" -mtime -1 2>/dev/null)" ]; then
    export APT_CONFIG="$apt/apt.conf"
    return
  fi
  mirror=$(debian_mirror)
  [ -n "$mirror" ] || { echo "this machine's apt names no Debian mirror" >&2; return 1; }
  mkdir -p "$apt"/{sources,preferences,lists/partial,cache/archives/partial,log}
  : >"$apt/status" # of no package installed: so a closure is whole
  cat >"$apt/sources/suites.sources" <<EOF
Types: deb
URIs: $mirror
Suites: sid bookworm bookworm-backports
Components: main
Architectures: amd64 arm64 armhf
Signed-By: /usr/share/keyrings/debian-archive-keyring.gpg
EOF
  # What a suite lacks comes from the older one, whose programs need no newer C library.
  printf 'Package: *\nPin: release n=sid\nPin-Priority: 100\n' >"$apt/preferences/suites.pref"
  cat >"$apt/apt.conf" <<EOF
Dir::Etc { main "/dev/null"; sourcelist "/dev/null"; sourceparts "$apt/sources"; preferences "/dev/null"; preferencesparts "$apt/preferences"; };
Dir::State "$apt"; Dir::State::status "$apt/status"; Dir::Cache "$apt/cache"; Dir::Log "$apt/log";
APT { Architecture "amd64"; Architectures { "amd64"; "arm64"; "armhf"; }; Install-Recommends "false"; Sandbox::User "root"; };
Acquire { Languages "none"; Retries "3"; IndexTargets::deb { DEP-11::DefaultEnabled "false"; CNF::DefaultEnabled "false"; }; };
# A mirror's release file may be some days past its date; packages only run here, on nobody's kiln.
Acquire::Check-Valid-Until "false";
EOF
  export APT_CONFIG="$apt/apt.conf"
  for try in 1 2 3; do # a mirror in the middle of its own update serves lists that do not fit
    apt-get update -qq --error-on=any && { touch "$apt/fresh"; return; }
    sleep "$((10 * try))"
  done
  return 1
}

# unpack_packages FOLDER: the packages lying in FOLDER/debs become the tree FOLDER. The C library of
# this machine's own kind is left out: the machine has one, and two in one process do not go together.
unpack_packages() {
  local deb
  for deb in "$1"/debs/*.deb; do
    case "${deb##*/}" in libc6_*_amd64.deb) [ -n "${WHOLE_LIBC:-}" ] || continue ;; esac
    dpkg -x "$deb" "$1"
  done
  rm -rf "$1/debs"
}

# fetch_packages FOLDER SUITE PACKAGE…: just these.
fetch_packages() {
  local folder="$1" suite="$2"
  shift 2
  mkdir -p "$folder/debs"
  (cd "$folder/debs" && apt-get download -qq "${@/%//$suite}")
}

# fetch_closure FOLDER SUITE PACKAGE…: these and all they depend on.
fetch_closure() {
  local folder="$1" suite="$2"
  shift 2
  mkdir -p "$folder/debs/partial"
  apt-get install -qq -y --download-only -o "Dir::Cache::archives=$folder/debs" -t "$suite" "$@" >/dev/null
}
