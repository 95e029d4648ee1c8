
# Names of cylinders and systems from the files that stand on the line; fish quotes them.
function __fish_chargesplit_names
    command chargesplit complete-names plain -- (commandline -cp | string collect) 2>/dev/null
end
complete -c chargesplit -n '__fish_chargesplit_names >/dev/null' -f -k -a '(__fish_chargesplit_names)'
for option in keep without take left system
    complete -c chargesplit -l $option -r -f -k -a '(__fish_chargesplit_names)'
end
