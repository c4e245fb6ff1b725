"""Whether the settings of a plant fit together: from its site sheet, and from a recording where there is one."""
