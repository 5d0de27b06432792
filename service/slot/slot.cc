#include "slot/slot.h"
