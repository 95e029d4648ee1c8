# Names of cylinders and systems from the files that stand on the line. They come quoted, and nothing in them is expanded.
_chargesplit_names() {
    local names line
    line="$(LC_ALL=C; printf '%s' "${COMP_LINE:0:COMP_POINT}")"
    names="$(command chargesplit complete-names bash --breaks "$COMP_WORDBREAKS" -- "$line" 2>/dev/null)" || return 1
    COMPREPLY=()
    while IFS= read -r line; do
        if [[ -n "$line" ]]; then COMPREPLY+=("$line"); fi
    done <<< "$names"
    if [[ "$names" == *= ]]; then compopt -o nospace 2>/dev/null; fi
    return 0
}

