# SPDX-License-Identifier: Apache-2.0
# The configuration folder. Apart from tl_base because it fills what proto/vocab describes.
tl_add_library(
    tl_conf
    SOURCES conf.c
            conf_file.c
            conf_outline.c
            conf_schema.c
            conf_value.c
            conf_ship.c
            conf_gear.c
            conf_figures.c
            conf_mechanics.c
            conf_stations.c
            conf_bus.c
            conf_keys.c
            conf_cross.c
    LIBS tl_vocab
         tl_base
         m
         PkgConfig::CYAML
         PkgConfig::YAML
         PkgConfig::SODIUM)
