#include "electric/machine_constants.h"
