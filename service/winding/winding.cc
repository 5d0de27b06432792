#include "winding/winding.h"
