# Names of cylinders and systems from the files that stand on the line; compadd quotes them.
_chargesplit_names() {
    local names
    names="$(command chargesplit complete-names plain -- "${(j: :)words[1,CURRENT-1]} ${QIPREFIX}${IPREFIX}${PREFIX}" 2>/dev/null)" || return 1
    local -a found
    found=("${(@f)names}")
    if [[ "$PREFIX" == --*=* ]]; then compset -P '*='; fi
    if [[ "$names" == *= ]]; then compadd -V names -S '' -a found; else compadd -V names -a found; fi
    return 0
}

